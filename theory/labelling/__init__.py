"""Chords as heard: names for notes whose root may not be played.

In: soundings in order. Out: chord spans with confidence, runners-up and reasons. Read `labeller`,
then `step_scores` over `likelihood`, `root_ways` and `shape_scores` (notes), `progress_prior` and
`context` (progressions), `slips`; `naming`, `heard` and `reasons` turn chances into names.
"""
