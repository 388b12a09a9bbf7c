"""From notes to attacks: what was struck together, where, how hard.

In: notes and a grid of beats. Out: attacks with positions, levels, the swing ratio. Read `attacks`,
then `grid`, `levels`, `swing_ratio`.
"""
