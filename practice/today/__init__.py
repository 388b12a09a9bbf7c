"""What to play today: what is due by spacing, one new key, in the order to play it.

In: the library, a day, minutes. Out: a plan as text, JSON and MIDI. Read `due` (when each key of
each target comes round again), `plan` (what fits into the time), then `plan_text`.
"""
