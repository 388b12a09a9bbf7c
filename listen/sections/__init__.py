"""Where a recording of an evening falls into sections, and each heard by itself.

In: a recording. Out: its sections, each a `Hearing` of its own. Read `section_hearing`, then
`section_edges` over
`section_measures`.
"""
