"""A take against a target: what landed, what was wrong, what to do next.

In: a take and a target. Out: a `Review`. Read `reviewing`, the door, and `review_records`; then
`comparison`, `faults` and `fault_words`, `landings`, `hesitation`, `pass_tempo`, `certainty`,
`next_thing`.
"""
