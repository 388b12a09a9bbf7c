"""Takes kept over time, each once, with corrections and passes.

In: takes. Out: rows to search, backups. Read `library` over `rows`, `store` and `schema`, then
`kept_take`, `corrections`, `dates`, `searching`, `kept_sound`, `found_page`, `backup`.
"""
