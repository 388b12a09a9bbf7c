"""The JSON Schema of a take, its reader and its writer say the same of any document.

jsonschema, a validator of the published standard (JSON Schema, draft 2020-12), is the judge.
"""

import copy
import json
import re
from importlib.resources import files
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stackline.shared.codec.codec_read import from_json
from stackline.shared.codec.codec_write import to_data
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from tests.support.takes.sample_take import sample_take
from tests.support.takes.take_strategies import takes

SCHEMA = json.loads(
    files("stackline.shared.codec").joinpath("take.schema.json").read_text(encoding="utf-8")
)
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
# what no JSON Schema can say: places in other lists, order in time, what must fit together
BEYOND = re.compile(
    r"points at|must be in order|follow each other|of one length|must rise|each note of midi once"
    r"|times must be|in parts of 1/48"
)
any_take = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))


def test_the_schema_is_one() -> None:
    """It keeps the rules that the standard sets for schemas themselves."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@any_take
@given(takes())
def test_what_is_written_is_valid(take: Take) -> None:
    """Every take as it is written."""
    VALIDATOR.validate(to_data(take))


def _places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Paths of everything in a document."""
    steps = value.items() if isinstance(value, dict) else enumerate(value)
    found = []
    for step, inner in steps:
        found.append((*path, step))
        if isinstance(inner, dict | list):
            found += _places(inner, (*path, step))
    return found


anything = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 130) | st.floats() | st.text(max_size=4)
    | st.sampled_from([10**30, 10**400, "R", "b9", "landed", "heard", 1e300, -1.0, 0.5]),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=4), inner),
    max_leaves=3,
)  # fmt: skip


@st.composite
def broken(draw: st.DrawFn) -> Any:
    """The document of a take with something replaced, taken away, added or doubled."""
    document = copy.deepcopy(to_data(draw(takes())))
    for _ in range(draw(st.integers(1, 2))):
        *way, last = draw(st.sampled_from(_places(document)))
        place: Any = document
        for step in way:
            place = place[step]
        what = draw(st.sampled_from(["replace", "replace", "take away", "add"]))
        if what == "replace":
            place[last] = draw(anything)
        elif what == "take away":
            del place[last]
        elif isinstance(place, list):
            place.insert(last, draw(anything))
        else:
            place[draw(st.text(max_size=4))] = draw(anything)
    return document


@settings(any_take, max_examples=400)
@given(broken())
def test_reader_and_schema_agree_on_broken_documents(document: Any) -> None:
    """What the reader takes is valid; what it refuses is not, but for what no schema can say."""
    valid = VALIDATOR.is_valid(document)
    fault = _fault(json.dumps(document))
    assert valid if not fault else not valid or BEYOND.search(fault)
    assert "\n" not in fault
    assert not fault or fault.startswith("take")


def test_a_note_of_a_beat_is_a_place_from_0_on_in_both() -> None:
    """Found once among drawn documents: the reader let -1 pass."""
    for place in (0, -1, -1.0):
        document = copy.deepcopy(to_data(sample_take()))
        document["beats"] = [{"time_s": 0.0, "number": 1, "notes": [place]}]
        assert VALIDATOR.is_valid(document) == (not _fault(json.dumps(document))) == (place == 0)


def _fault(document: str) -> str:
    """The sentence of the reader; empty where it takes the document."""
    try:
        from_json(document)
    except Complaint as complaint:
        return str(complaint)
    return ""


@pytest.mark.parametrize("name", ["out_of_time", "swing_ratio", "rhythm", "not_playing"])
def test_later_fields_may_be_absent_in_both(name: str) -> None:
    """As `codec_write` says."""
    assert name not in SCHEMA["required"]
    assert name in SCHEMA["properties"]
