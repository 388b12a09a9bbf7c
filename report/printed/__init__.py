"""PDFs: the score and the study sheet on A4.

In: a take. Out: PDF bytes. Read `pdf_file` and `sheet_file`, then what they are built of.
"""
