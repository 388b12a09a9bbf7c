"""Recordings of an evening, from file to pages and library: what check and watch share.

In: a recording. Out: a session with what is recognised, its files, what is kept of it. Read
`heard_session`, `session_files`, `keeping`, then `new_recordings`, which finds what to hear.
"""
