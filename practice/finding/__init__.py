"""Finding every pass of a target in a take, and which target it is.

In: gestures and a target. Out: passes with key and tempo, false starts. Read `passes` over
`row_search`, `likeness` and `gestures`, then `plausible` (what is believed) and `pass_records`;
`recognising` asks all known targets.
"""
