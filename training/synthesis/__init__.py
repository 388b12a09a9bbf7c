"""Sound to learn from, made on the GPU while training.

In: a bank, a seed. Out: clips and what is struck in them. Read `scores` over `textures`, `backing`
and `clip_score` over `voicings`; `voices` over `bending` and `tones`; `mixing` over `kernels`;
`acoustics`.
"""
