"""Reviews and sessions as text, data and pages.

In: a review, or a session. Out: text, JSON, HTML. Read `review_text`, `review_data`,
then `review_page` over `page_frame`, `key_pictures`, `fault_notes` over `fault_words`, and
`next_thing`; for sessions `session_text` and `session_page`.
"""
