"""Recordings of an evening, from file to pages and library: check without a target, and watch.

In: a recording. Out: a session with what is recognised, its files, what is kept of it. Read
`heard_session`, `session_files`, `keeping` over `sound_keeping`, `chosen_sections`, and
`new_recordings`, which finds what to hear; then `check_session` and `watch_command`, which a
player starts.
"""
