"""A session as a page: its sections on a line and in a table, each with the way to its own page."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from stackline.practice.written.page_frame import page
from stackline.practice.written.session_text import (
    SURE,
    first_passes,
    key_of,
    meter_of,
    tempo_of,
    what,
)
from stackline.report.words.marks import one_line
from stackline.shared.take import Section, Session
from stackline.shared.units import clock

WIDTH = 960  # of a picture, in drawing units


def render(session: Session, pages: Mapping[int, str] | None = None) -> str:
    """The page as HTML. pages: file names of the sections' own pages, by number from 1."""
    begins = dict(first_passes(session))
    return page(
        "session.html",
        recording=one_line(session.source.name),
        length=clock(session.source.duration_s),
        bars=[_bar(session, one) for one in session.sections],
        words="; ".join(
            f"section {number}, {clock(one.start_s)} to {clock(one.end_s)}"
            for number, one in enumerate(session.sections, start=1)
        ),
        rows=[
            _row(number, one, (pages or {}).get(number), begins.get(number, ""))
            for number, one in enumerate(session.sections, start=1)
        ],
    )


def _bar(session: Session, section: Section) -> dict[str, Any]:
    scale = WIDTH / max(session.source.duration_s, 1.0)
    return {
        "x": round(section.start_s * scale, 1),
        "width": round(max(2.0, (section.end_s - section.start_s) * scale), 1),
        "known": bool(section.recognised) and section.recognised[0].confidence >= SURE,
    }


def _row(number: int, section: Section, page_name: str | None, begins: str) -> dict[str, Any]:
    return {
        "number": number,
        "link": quote(page_name) if page_name else "",
        "name": one_line(section.take.source.name),
        "start": clock(section.start_s),
        "end": clock(section.end_s),
        "length": clock(section.end_s - section.start_s),
        "key": key_of(section.take),
        "tempo": tempo_of(section.take),
        "meter": meter_of(section.take),
        "voicings": len(section.take.voicings),
        "what": what(section),
        "begins": begins,
    }
