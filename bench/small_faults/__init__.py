"""Which small faults in the code the tests notice.

In: the tree. Out: a table of faults by file. Read `fault_kinds` (what is put wrong), then `faults`
(where, and whether a test fails).
"""
