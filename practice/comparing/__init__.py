"""Two players, or one player then and now: what each uses that the other does not.

Takes come in. Read `vocabulary_used` (what a set of takes uses), `differences` (what one does and the
other never), then `comparison_text` and `comparison_page`, which write it out.
"""
