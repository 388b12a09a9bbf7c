"""What the library's file holds of a take, as rows.

In: takes, reviews. Out: rows, written inside a transaction. Read `take_rows` over `index_rows`,
`pass_rows` and `resolution_rows`; `section_places` says which take is a section of which recording.
"""
