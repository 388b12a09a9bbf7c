"""Chords as given: the playing explained against the changes of a tune.

In: attacks and changes. Out: chord spans, and what was played instead. Read `alignment` (where the
form lies), `given`, `substitutions`.
"""
