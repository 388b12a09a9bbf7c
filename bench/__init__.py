"""Accuracy and speed, measured; results are kept as files with the commit.

In: made takes (`fixtures`), perhaps a bank of notes. Out: `results`. README.md says how each is
run; read `accuracy` first, over `scoring`; `naming` asks for names alone, `sorting` for
what is what; `speed` holds what is timed.
"""
