"""A session as JSON: what is written is read back, by the schema too; what cannot be is refused.

jsonschema, a validator of the published standard (JSON Schema, draft 2020-12), is the judge.
"""

import json
from collections.abc import Callable
from importlib.resources import files
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stackline.shared.codec.codec_session import (
    session_data,
    session_from_data,
    session_from_json,
    session_to_json,
)
from stackline.shared.complaint import Complaint
from stackline.shared.take import Recognised, Section, Session
from tests.support.takes.take_strategies import takes


def _schema(name: str) -> Any:
    return json.loads(files("stackline.shared.codec").joinpath(name).read_text(encoding="utf-8"))


SCHEMA = _schema("session.schema.json")
WHOLE = {**SCHEMA, "$defs": {**SCHEMA["$defs"], "take": _schema("take.schema.json")}}
VALIDATOR = jsonschema.Draft202012Validator(WHOLE)  # the take's schema is found by its name
few = settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
recognised = st.builds(
    Recognised,
    target=st.text(max_size=8), confidence=st.floats(0, 1), passes=st.integers(1, 99),
    keys=st.lists(st.integers(0, 11), unique=True, max_size=12).map(tuple),
    start_s=st.floats(0, 1e5),
)  # fmt: skip


@st.composite
def sessions(draw: st.DrawFn) -> Session:
    """A session of one section; of several, places would have to fit."""
    take = draw(takes())
    cut = take.source.cut_from
    source = draw(takes()).source
    if cut is not None:
        from dataclasses import replace

        source = replace(source, sha256=cut.sha256)
    section = Section(take=take, recognised=tuple(draw(st.lists(recognised, max_size=2))))
    return Session(source=source, sections=(section,), not_playing=take.not_playing)


@few
@given(sessions())
def test_what_is_written_is_read_back_and_valid(session: Session) -> None:
    """Every record, through text."""
    assert session_from_json(session_to_json(session)) == session
    VALIDATOR.validate(session_data(session))


def test_the_schema_is_one() -> None:
    """It keeps the rules that the standard sets for schemas themselves."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def _document() -> dict[str, Any]:
    """Two empty sections of one recording."""
    audio = {"name": "evening.wav", "duration_s": 90.0, "sha256": "ab"}
    sections = []
    for number, (start_s, end_s) in enumerate(((1.0, 30.0), (50.0, 80.0)), start=1):
        cut = {"name": "evening.wav", "sha256": "ab", "number": number, "start_s": start_s,
               "end_s": end_s}  # fmt: skip
        take = {
            "format": 1, "version": "0.1.0", "ear": "test",
            "audio": {"name": f"evening-{number}.wav", "duration_s": end_s - start_s,
                      "sha256": f"c{number}", "cut_from": cut},
            "tuning_cents": 0.0, "tempo_bpm": None,
            "meter": {"beats_per_bar": 4, "source": "assumed", "confidence": 0.0},
            "beats": [], "notes": [], "attacks": [], "voicings": [], "motions": [],
        }  # fmt: skip
        sections.append({"start_s": start_s, "end_s": end_s, "recognised": [], "take": take})
    return {"format": 1, "session": audio, "not_playing": [], "sections": sections}


def test_the_document_by_hand_is_read() -> None:
    """And is valid."""
    assert [one.start_s for one in session_from_data(_document()).sections] == [1.0, 50.0]
    VALIDATOR.validate(_document())


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda d: d.update(format=2), r"session\.format: found 2"),
        (lambda d: d.update(mood="blue"), r"unknown field 'mood'"),
        (lambda d: d.pop("sections"), r"the field 'sections' is missing"),
        (lambda d: d["sections"].reverse(), "they must be in order"),
        (lambda d: d["session"].update(sha256="zz"), "was cut from another recording"),
        (lambda d: d["sections"][0].update(start_s=2.0), r"stands at 2 to 30 s, but its take"),
        (lambda d: d["sections"][0]["take"].pop("notes"), "the field 'notes' is missing"),
    ],
)
def test_what_does_not_fit_is_refused(spoil: Callable[[Any], Any], words: str) -> None:
    """One sentence that names the place."""
    document = _document()
    spoil(document)
    with pytest.raises(Complaint, match=words):
        session_from_data(document)
