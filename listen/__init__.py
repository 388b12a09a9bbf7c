"""Sound to notes, beats and attacks. Knows no harmony.

In: a file, or samples. Out: a `Hearing`: notes, beats, attacks, tuning, what is not playing. Read
`hearing`, which is all of it in order; then `recording`, the ear that you care about (`piano`,
`general`, `large`), `attacks`, `other_sounds` and `time`. `ear` says what an ear is;
`offline_network` and `one_layer` run networks.
"""
