"""Who is tried, and how a hearing is scored against the truth.

In: truth and hearings. Out: rates with denominators, tables, provenance. Read `scoring` and
`time_scoring`, then `listeners`, `pooled`, `tables`, `provenance`; `by_instrument`, over
`real_clips`, is run for itself.
"""
