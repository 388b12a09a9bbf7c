"""Accuracy and speed, measured; results are kept as files with the commit."""
