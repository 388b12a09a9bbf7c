"""The piano ear: our own network for struck keys.

In: a recording and its tuning. Out: notes with confidence and velocity. Read `piano_ear`, which
calls the rest: `features`, `piano_decoding`, `piano_trust`, `piano_velocity`. `weights` holds the
networks and their model card.
"""
