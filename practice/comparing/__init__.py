"""Two players, or one player then and now: what each uses that the other does not.

In: takes. Out: what each set uses, and what one does and the other never. Read `vocabulary_used`,
`differences`, then `comparison_text` and `comparison_page`.
"""
