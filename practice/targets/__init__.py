"""What a player means to practise, in any key.

In: a line of text, a TOML file, or a stretch of a take. Out: a `Target`. Read `targets` over
`stack`, then `target_text` over `numerals`, `target_file`, `find_target`, `placing`.
"""
