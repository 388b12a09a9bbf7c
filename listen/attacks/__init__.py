"""From notes to attacks: what was struck together, where, how hard.

In: notes and a grid of beats. Out: attacks with positions, levels, the swing ratio;
which notes are of a line over the comping. Read `attacks`, then `grid`, `levels`, `swing_ratio`,
`line_notes` over `line_features`.
"""
