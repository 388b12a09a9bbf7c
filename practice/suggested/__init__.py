"""Other ways to play a progression, or one chord of a take, as targets that can be drilled.

In: a target or a take, hands and their reach. Out: text, JSON, MIDI, a page. Read `suggestions`
over `reharmonised` (other chords for the same changes), then `ways_text`, `ways_data` and
`ways_drill` (to hear and to see them); `ways_in_take` is one place of a take.
"""
