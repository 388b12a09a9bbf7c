"""The piano ear's network and its training.

In: batches. Out: a checkpoint, then ONNX. Read `network`, `loss`, `clips` over `spectra`, `feed`,
`train`; `dev_set` and `validation`; `export` and `quantise`.
"""
