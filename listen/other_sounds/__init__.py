"""What is not the instrument: clicks, talk, applause, noise.

In: a recording and its notes. Out: click times, spans of other sounds, and the notes without them.
Read `clicks` and `clicked_notes`, then `not_playing` over `texture`.
"""
