"""A target through the keys, to play along with.

In: a target and an order of keys. Out: text, JSON, MIDI, a take. Read `drill` over `key_orders`
and `voicing_choice`, then its writers `drill_text`, `drill_data`, `drill_page`, `drill_midi` over
`drill_bass`, `drill_take`.
"""
