"""The sound inside a page, and the picture behind its notes.

In: a recording. Out: AAC small enough to travel, loudness of each semitone. Read `page_sound`, then
`embedded_audio`, `spectrogram`, `sound_pieces` (moments that are kept),
and `page_piano`, which plays written notes.
"""
