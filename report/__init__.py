"""A take to something to read, print, play or open elsewhere: one record, many renderers.

In: a take, perhaps its recording. Out: files. Read `outputs`, the table of formats; then `page`
with `contents`, `words` and `sound`; `score` and `notation`; `printed`; `files`.
"""
