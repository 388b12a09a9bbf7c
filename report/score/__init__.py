"""A take laid out as a score, before any notation format.

In: a take. Out: bars, staves, note values, ties, marks (`score_model`). Read `score_layout`, which
calls the rest: `score_sections`, `score_time`, `score_clefs`, `score_lines`, `score_items` over
`note_values` and `note_groups`, `score_marks`, `score_signatures`, `score_spelling`.
"""
