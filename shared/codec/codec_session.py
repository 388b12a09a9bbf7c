"""A session as JSON, format 1, written and read as strictly as a take.

Its sections hold whole takes, each by its own clock, as `codec_write` writes them.
``session_from_json(session_to_json(session)) == session``. `session.schema.json` says the same.
"""

import json

from stackline.shared.codec.codec_facts import chance, seconds, source, span
from stackline.shared.codec.codec_read import from_data
from stackline.shared.codec.codec_write import Json, source_data, to_data
from stackline.shared.codec.strict import Fields, kind, load_json, record, whole
from stackline.shared.complaint import Complaint
from stackline.shared.take import Recognised, Section, Session

FORMAT = 1  # raised when older readers would misread it


def session_to_json(session: Session) -> str:
    """The session as JSON text, ending in a newline."""
    return json.dumps(session_data(session), ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def session_data(session: Session) -> Json:
    """The session as plain lists and dictionaries."""
    return {
        "format": FORMAT,
        "session": source_data(session.source),
        "not_playing": [
            {"start_s": one.start_s, "end_s": one.end_s, "kind": one.kind}
            for one in session.not_playing
        ],
        "sections": [
            {
                "start_s": one.start_s,
                "end_s": one.end_s,
                "recognised": [_recognised_data(found) for found in one.recognised],
                "take": to_data(one.take),
            }
            for one in session.sections
        ],
    }


def _recognised_data(one: Recognised) -> Json:
    return {
        "target": one.target,
        "confidence": one.confidence,
        "passes": one.passes,
        "keys": list(one.keys),
        "start_s": one.start_s,
    }


def session_from_json(document: str) -> Session:
    """Read a session; raises Complaint with one sentence for anything that is not format 1."""
    return session_from_data(load_json(document))


def session_from_data(data: object) -> Session:
    """Read a session from what `strict.load_json` gives; raises Complaint."""
    fields = Fields(data, "session")
    found = fields.any("format")
    if found != FORMAT or isinstance(found, bool):
        raise Complaint(f"session.format: found {kind(found)}, this reader knows format {FORMAT}")
    session = Session(
        source=fields.one("session", source),
        not_playing=fields.each("not_playing", span),
        sections=fields.each("sections", _section),
    )
    fields.close()
    _check_order(session)
    return session


@record
def _section(fields: Fields) -> Section:
    start_s, end_s = fields.one("start_s", seconds), fields.one("end_s", seconds)
    section = Section(
        recognised=fields.each("recognised", _recognised),
        take=fields.one("take", lambda data, _: from_data(data)),
    )
    if (start_s, end_s) != (section.start_s, section.end_s):
        raise ValueError(
            f"stands at {start_s:g} to {end_s:g} s, but its take was cut at "
            f"{section.start_s:g} to {section.end_s:g} s"
        )
    return section


@record
def _recognised(fields: Fields) -> Recognised:
    return Recognised(
        target=fields.text("target"),
        confidence=fields.one("confidence", chance),
        passes=fields.whole("passes", 1),
        keys=fields.each("keys", lambda value, where: whole(value, where, 0, 11)),
        start_s=fields.one("start_s", seconds),
    )


def _check_order(session: Session) -> None:
    """Sections follow each other, and none lies in another recording."""
    end_s = 0.0
    for i, one in enumerate(session.sections):
        cut = one.take.source.cut_from
        if cut is not None and cut.sha256 != session.source.sha256:
            raise Complaint(f"session.sections[{i}]: was cut from another recording")
        if one.start_s < end_s:
            raise Complaint(
                f"session.sections[{i}]: begins at {one.start_s:g} s, before the last one ends; "
                "they must be in order"
            )
        end_s = one.end_s
