"""Sound to learn from, made on the GPU while training.

In: a bank, a seed. Out: clips and what is struck in them. Read `scores` over `voicings`, `voices`
over `tones`, `mixing` over `kernels`, `acoustics`.
"""
