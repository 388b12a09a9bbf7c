"""The changes on paper: what players type, read into bars of chords.

In: text. Out: `Changes`, a form as it is played. Read `changes` (the record), `changes_text` (the
door), then what it asks: `changes_words`, `bar_reader`, `repeats`, `loose_chords` (no bar lines),
`chord_reader` and `lower_case`. `score_changes` reads a MusicXML score instead, `printed_changes`
writes and finds those below a drill.
"""
