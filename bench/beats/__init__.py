"""Beats and bars: on made takes that are heard, and on the onsets of annotated jazz trios.

In: made takes (`fixtures`), `trios.json`. Out: figures in `results`. Read `trios`, which needs no
sound; `time` and `heard_trios` need a bank.
"""
