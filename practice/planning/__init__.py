"""What to play next, from what the library knows.

In: the library. Out: a day's plan, the keys of a drill. Read `plan` and `plan_text`; `weak_keys`
for a drill that adapts.
"""
