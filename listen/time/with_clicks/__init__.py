"""Beats of a take with regular clicks in it.

In: clicks and attacks. Out: beats and bars. Read `clicked_beats`, then `pulse` (tempo), `beat_path`
(beats), `bars`.
"""
