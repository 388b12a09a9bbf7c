"""How fast and how lean the program is, against its peer in the same run.

In: made recordings. Out: seconds, megabytes. Read `speed`, then `rendering`, `library_speed`,
`page_weight`, which is about the browser.
"""
