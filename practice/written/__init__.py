"""Reviews as text, data and pages.

In: a review. Out: text, JSON, HTML. Read `review_text`, `review_data`, then `review_page` over
`page_frame`, `key_pictures`, `fault_notes` over `fault_words`, and `next_thing`.
"""
