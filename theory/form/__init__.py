"""The chords of a take as a whole: key centres, chord lengths, home dominants.

In: voicings in order. Out: runs of one chord, keys, harmonic rhythm. Read `progress`, then
`cadences`, `key_centres`, `harmonic_rhythm`, `home_dominants`.
"""
