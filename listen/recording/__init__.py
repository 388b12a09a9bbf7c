"""From a file or an array to samples at the rate that an ear wants.

In: a path, or samples. Out: an `Audio`, and its tuning. Read `decode` (over `media_file`,
`sound_frames`, `endings` and `spool`), `samples`, `tuning`, then `slices`, which cuts parts out of
a recording. `midi_keys` reads a MIDI file instead.
"""
