"""How facts are put in words, the same in every report.

In: facts of a take. Out: short texts with real accidental signs. Read `marks` and `places`, then
`take_view` (what all reports ask of a take, worked out once), `summary` over `textures`,
`page_text`, `time_words`; `place_reading` reads places back.
"""
