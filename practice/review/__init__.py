"""A take against a target: what landed, and what was wrong.

In: a take and a target. Out: a `Review`. Read `reviewing`, the door, and `review_records`; then
`comparison`, `faults`, `landings`, `hesitation`, `pass_tempo`, `certainty`.
"""
