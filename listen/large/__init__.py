"""The large ear: a published piano model, where its package is installed; and two ears at once.

In: a recording and its tuning. Out: notes with velocity; the model gives no chances. Read
`large_ear`, then `second_ear`, which has a second ear's notes doubt the first one's.
"""
