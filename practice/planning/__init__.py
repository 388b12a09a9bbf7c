"""What to play next, from what the library knows.

In: the library. Out: days, plans, keys for a drill. Read `due`, then `plan` and `plan_text`;
`weak_keys` for a drill that adapts.
"""
