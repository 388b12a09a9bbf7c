"""Takes kept over time, each once, with corrections and passes.

In: takes. Out: rows to search, backups. Read `library` over `store` and `schema`, then `kept_take`,
`corrections`, `index_rows`, `section_places`, `pass_rows`, `searching`, `backup`.
"""
