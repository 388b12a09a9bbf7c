"""What a stack of notes is, apart from its place in the music.

In: pitches and a chord. Out: structures, hands, doublings, warnings. Read `structures` with its
names in `kinds`, `hands`, `doublings`, `low_limits`; `shapes` is the table of common ones, and
`voicing_maker` puts everything into one record; `line_over` says what a line plays over it;
`frames` what a chord symbol asks for and leaves free.
"""
