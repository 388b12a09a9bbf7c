"""Takes kept over time, each once, with corrections and passes.

In: takes. Out: rows to search, backups. Read `library` over `take_rows`, `store` and `schema`, then
`kept_take`, `corrections`, `index_rows`, `pass_rows`, `resolution_rows`, `searching`, `backup`.
"""
