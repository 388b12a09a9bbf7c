"""What a recording of an evening holds: which known targets were practised where.

In: a session, and targets. Out: the session with what is recognised, as text and as a page. Read
`recognising`, then `session_text` and `session_page`.
"""
