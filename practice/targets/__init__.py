"""What a player means to practise, in any key.

In: a line of text, a TOML file, or a stretch of a take. Out: a `Target`. Read `targets`, then
`target_text` over `numerals`, `target_file`, `find_target`, `voicing_choice`, `placing`.
"""
