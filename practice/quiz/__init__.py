"""A quiz from one's own takes: what was on top, which chord, which stack, did it land.

In: the library. Out: one page that works offline. Read `questions` over `wrong_answers`, then
`quiz_page`; its script and style lie in `templates`.
"""
