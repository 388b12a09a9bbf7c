"""Chord symbols, their tones and their spelling.

In: text, or a root and a quality. Out: symbols, degrees, names of notes. Read `qualities`, the
table that all else follows from; `degrees`; `symbols` over `chord_grammar`; `spelling`, `keys`,
`note_names`.
"""
