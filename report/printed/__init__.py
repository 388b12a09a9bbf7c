"""What is printed on A4: the score, the study sheet.

In: a take. Out: PDF bytes. Read `pdf_file` and `sheet_file` (takes as data), then `typesetting`,
which puts data into the templates (``report/templates/*.typ``).
"""
