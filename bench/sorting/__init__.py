"""What is what: talk from playing, a line from the comping under it.

In: made takes and lessons (`fixtures`). Out: figures in `results`. Read `lines` and
`sessions`, which need no sound; `speech` needs a bank.
"""
