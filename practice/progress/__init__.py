"""What the library says of a player over weeks and keys.

In: the library. Out: tables and advice. Read `twelve_keys`, `weeks`, `habits`, `advice`, `due`,
then `progress_text` and `progress_page`. What landed in everything: `ledger`, `quality_habits`,
`ledger_text`.
"""
