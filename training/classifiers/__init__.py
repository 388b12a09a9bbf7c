"""The small classifiers that are fitted on made recordings.

In: hearings of made takes. Out: weights as npz. Read the `fit_` files; the others make their
material.
"""
