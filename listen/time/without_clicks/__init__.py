"""Beats of a take from its attacks alone.

In: attacks. Out: beats, bars, passages out of time. Read `comping_beats`, then `place_path` over
`place_states`, `place_moves` and `place_rates`; `in_time` and `beat_line` turn places into beats.
"""
