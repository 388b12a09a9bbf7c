"""A take as one HTML page, to read, hear, print and keep.

In: a take and its sound. Out: HTML. Read `page`, `index_page`, then `page_worker` over
`worker_process`, which make the sound and the score beside the hearing.
"""
