"""What is printed on A4: the score, the study sheet, the changes.

In: a take. Out: PDF bytes. Read `pdf_file`, `sheet_file` and `changes_sheet` (takes as data), then
`typesetting`, which puts data into the templates (``report/templates/*.typ``).
"""
