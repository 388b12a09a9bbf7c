"""How the ears' networks and classifiers were made. Not installed; torch is needed only here.

In: a bank of notes. Out: weights. README.md has the commands; read `synthesis` (what is heard),
`network` (what learns), `classifiers` (the small ones).
"""
