"""The plain files: table, CSV, labels, JAMS, MIDI.

In: a take. Out: text or bytes, one renderer a file. Read `table`, then any other; they do not
know each other.
"""
