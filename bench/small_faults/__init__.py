"""Which small faults in the code the tests notice.

In: the tree. Out: a table of faults by folder. Read `fault_kinds` (what is put wrong),
`passing_tests` (which tests run which line), `trial_copy` (where they are run), then `faults`.
"""
