"""A take as JSON, format 1, written and read.

In: a take, or a text. Out: the other one; ``from_json(to_json(take)) == take`` for every take. Read
`codec_write` for the format, then `strict` (how fields are read) and `codec_read`.
"""
