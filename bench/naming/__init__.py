"""How often chords are named right from truth notes, and whether sure means right.

In: progressions and takes of `fixtures`, real changes. Out: figures in bench/results. Read
`dressed_names` first, then `decidable` for what could be right at best; `labels` has the shapes
unknown, notes lost and peers, `take_names` comping.
"""
