"""The beats and bars of a take, or the honest absence of a pulse.

In: attacks, clicks, and what the player knows. Out: a grid of beats. Read `beats`, the door, then
`readings`, `bar_pointer` and `rhythms`.
"""
