"""Dates of takes: ISO 8601, today if left out, never to come."""

import datetime

from stackline.shared.complaint import Complaint


def read_date(text: str | None) -> str:
    """A date as typed, ``2026-03-09``; raises Complaint for what is none, or still to come."""
    today = datetime.date.today()
    if text is None:
        return today.isoformat()
    try:
        date = datetime.date.fromisoformat(text)
    except ValueError:
        raise Complaint(f"{text!r} is not a valid date: write year-month-day, 2026-03-09") from None
    if date > today:
        raise Complaint(
            f"{text} is still to come: give the day on which it was played, "
            f"{today.isoformat()} at the latest"
        )
    return date.isoformat()


def now() -> str:
    """The second that it is, UTC."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")
