"""The general ear: basic-pitch's network for any pitched instrument.

In: a recording and its tuning. Out: notes with confidence. Read `general_ear` (activations), then
`tracking` over `chunks` (notes), and the two classifiers that reject octaves: `attack_classifier`
over `partials`, and `take_classifier`.
"""
