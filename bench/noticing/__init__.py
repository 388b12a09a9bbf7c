"""Do the tests notice when the code goes wrong?

In: the tree. Out: small faults, each in a copy of it, and which of them a test noticed. Read
`faults`, then `fault_kinds`.
"""
