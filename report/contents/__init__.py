"""What a page shows, as rows and drawings, before any HTML.

In: a take. Out: rows of the chart, tables, keyboards. Read `page_rows`, `chart` over
`chart_slots` and `chart_labels`, `keyboard_picture`, `changes_grid`, then the tables:
`page_tables`, `beat_table`, `vocabulary`.
"""
