"""Takes over time: targets, passes through the keys, drills, the library.

In: takes and targets. Out: reviews, progress, drills. Read `targets` (what is to be played),
`finding` (its passes in a take), `review` (what went right), `written` (in words and on pages),
`library`, `drills`, `progress`, `planning`, `comparing` (two sets of takes side by side).
"""
