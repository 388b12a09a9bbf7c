"""The JSON of a take: format 1, written and read back."""

import copy
import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from stackline.shared.codec.codec_read import from_data, from_json
from stackline.shared.codec.codec_write import to_data, to_json
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from tests.support.takes.sample_take import sample_take
from tests.support.takes.take_strategies import takes


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(takes())
def test_reading_what_was_written_gives_the_same_take(take: Take) -> None:
    """Write then read is identity over all takes."""
    assert from_json(to_json(take)) == take


# joined the format after its first release
LATER = {"not_playing", "swing_ratio", "rhythm", "out_of_time"}


def _example() -> dict[str, Any]:
    return {
        "format": 1,
        "version": "0.1.0",
        "audio": {
            "name": "warmup.m4a",
            "duration_s": 4.0,
            "sha256": "ab",
            "broken_off_s": 3.9,
            "unread": [{"start_s": 0.5, "end_s": 0.75}],
            "cut_from": {
                "name": "evening.m4a",
                "sha256": "cd",
                "number": 2,
                "start_s": 60.0,
                "end_s": 64.0,
            },
        },
        "ear": "test ear",
        "tuning_cents": 0.0,
        "tempo_bpm": None,
        "meter": {"beats_per_bar": 4, "source": "assumed", "confidence": 0.0},
        "beats": [],
        "out_of_time": [],
        "swing_ratio": 1.5,
        "notes": [
            {
                "onset_s": 1.0,
                "offset_s": 2.0,
                "midi": 60,
                "velocity": 64,
                "confidence": 0.9,
                "line": 0.0,
                "position": None,
            }
        ],
        "attacks": [{"onset_s": 1.0, "spread_s": 0.0, "position": None, "struck": [0], "held": []}],
        "voicings": [],
        "motions": [],
        "rhythm": {
            "chords": [],
            "bars": [{"bar": 2, "chords": 1, "figure": "quarter"}],
        },
        "not_playing": [{"start_s": 2.5, "end_s": 3.5, "kind": "talk"}],
    }


def test_the_example_document_is_read() -> None:
    """A hand-written document of format 1 is a take."""
    take = from_data(_example())
    assert take.attacks[0].struck[0].midi == 60
    assert to_data(take) == _example()


def test_a_document_from_before_the_later_fields_is_read() -> None:
    """Without talk, swing, rhythm and note positions a document is a take that knows none."""
    old = _example()
    for name in LATER:
        del old[name]
    del old["notes"][0]["position"], old["notes"][0]["line"]
    del old["audio"]["broken_off_s"], old["audio"]["unread"]
    del old["audio"]["cut_from"]
    take = from_data(old)
    assert take.not_playing == ()
    assert take.swing_ratio is take.source.broken_off_s is None
    assert take.source.unread == ()
    assert take.source.cut_from is None
    assert take.rhythm.chords == take.rhythm.bars == ()


@pytest.mark.parametrize(
    ("path", "value", "sentence"),
    [
        (("format",), 2, r"take\.format: found 2, this reader knows format 1"),
        (
            ("not_playing", 0, "kind"),
            "song",
            r"take\.not_playing\[0\]\.kind: found 'song', expected one of 'talk', 'applause'",
        ),
        (
            ("not_playing", 0, "start_s"),
            9.0,
            r"take\.not_playing\[0\]: times must be 0 <= start <= end, got 9\.0, 3\.5",
        ),
        (
            ("rhythm", "chords"),
            [{"voicing": 0, "beats": None}],
            r"take\.rhythm\.chords\[0\]\.voicing: points at voicing 0, but there are 0",
        ),
        (("mood",), "blue", r"take: unknown field 'mood'"),
        (("audio", "artist"), "x", r"take\.audio: unknown field 'artist'"),
        (("notes", 0, "midi"), 12, r"take\.notes\[0\]: midi must be 21\.\.108, got 12"),
        (
            ("notes", 0, "midi"),
            "C4",
            r"take\.notes\[0\]\.midi: found 'C4', expected a whole number",
        ),
        (("notes", 0, "velocity"), True, r"velocity: found true, expected a whole number"),
        (
            ("attacks", 0, "struck"),
            [3],
            r"take\.attacks\[0\]\.struck\[0\]: points at note 3, but there are 1",
        ),
        (("beats",), None, r"take\.beats: found null, expected a list"),
        (("meter", "source"), "guess", r"source: found 'guess', expected one of 'heard'"),
    ],
)
def test_a_document_that_is_not_format_1_is_refused_in_words(
    path: tuple[Any, ...], value: object, sentence: str
) -> None:
    """The sentence says where it stands, what came and what is allowed."""
    data = copy.deepcopy(_example())
    place: Any = data
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    with pytest.raises(Complaint, match=sentence):
        from_data(data)


def _text_with(old: str, new: str) -> str:
    """The example's text, one piece of it replaced."""
    text = json.dumps(_example())
    assert text.count(old) == 1
    return text.replace(old, new)


VELOCITY, CENTS = '"velocity": 64', '"tuning_cents": 0.0'


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (VELOCITY, f'"velocity": {"9" * 5000}',
         r"take\.notes\[0\]\.velocity: found 9{20}\.\.\. \(5000 digits\), expected a whole number"),
        (CENTS, f'"tuning_cents": 1{"0" * 399}',
         r"take\.tuning_cents: found a number of some 400 digits, expected -1200 to 1200"),
        (CENTS, '"tuning_cents": NaN', r"take\.tuning_cents: found NaN, expected -1200 to 1200"),
        (CENTS, '"tuning_cents": Infinity', r"take\.tuning_cents: found Infinity, expected"),
        (CENTS, '"tuning_cents": 1e999', r"take\.tuning_cents: found Infinity, expected"),
        ('"ear": "test ear"', r'"ear": "\ud800"',
         r"take\.ear: found '\\ud800', which holds half a surrogate pair"),
        (VELOCITY, '"velocity": 64, "velocity": 65',
         r"take\.notes\[0\]: the field 'velocity' stands there twice"),
        ('"kind": "talk"', '"kind": "talk", "\\ud800": 1', r"unknown field '\\ud800'"),
    ],
)  # fmt: skip
def test_what_json_leaves_open_is_refused(old: str, new: str, sentence: str) -> None:
    """RFC 8259, sections 4, 6, 8.2: numbers out of range, doubled names, half surrogates."""
    with pytest.raises(Complaint, match=sentence):
        from_json(_text_with(old, new))


@pytest.mark.parametrize("opening", ["[", '{"a":'])
def test_what_is_nested_too_deep_is_told(opening: str) -> None:
    """A hundred thousand levels are no take."""
    with pytest.raises(Complaint, match="nested too deep"):
        from_json(opening * 100_000)


def _with_voicings() -> dict[str, Any]:
    return to_data(sample_take())


def test_a_fault_inside_a_voicing_names_the_voicing() -> None:
    """The whole path, from the take to the field."""
    data = _with_voicings()
    data["voicings"][3]["chord"]["confidence"] = 1.5
    with pytest.raises(
        Complaint, match=r"^take\.voicings\[3\]\.chord\.confidence: found 1\.5, expected 0 to 1$"
    ):
        from_data(data)


@pytest.mark.parametrize(
    ("place", "value", "sentence"),
    [
        ("from", 900, r"take\.motions\[1\]\.from: points at voicing 900, but there are"),
        ("to", -1, r"take\.motions\[1\]\.to: points at voicing -1, but there are"),
        ("to", 0, r"take\.motions\[1\]: stands at 0 after one at 1"),
        ("from", 0, r"take\.motions\[1\]: goes from voicing 0 to 2, expected two that follow"),
    ],
)
def test_a_motion_must_lead_from_a_voicing_to_the_next(
    place: str, value: int, sentence: str
) -> None:
    """Its ends point at voicings, neighbours, in order."""
    data = _with_voicings()
    data["motions"][1][place] = value
    with pytest.raises(Complaint, match=sentence):
        from_data(data)


@pytest.mark.parametrize("name", ["notes", "attacks", "voicings"])
def test_lists_must_be_in_order_of_time(name: str) -> None:
    """Turned around they are refused."""
    data = _with_voicings()
    data["motions"], data["rhythm"] = [], {"chords": [], "bars": []}
    data["attacks"] = data["attacks"] if name != "notes" else []
    data["voicings"] = data["voicings"] if name == "voicings" else []
    data[name].reverse()
    with pytest.raises(Complaint, match=rf"take\.{name}\[1\]: stands at .* must be in order"):
        from_data(data)


@pytest.mark.parametrize("name", sorted(set(_example()) - LATER))
def test_every_field_must_be_there(name: str) -> None:
    """A missing field is named."""
    data = _example()
    del data[name]
    with pytest.raises(Complaint, match=f"the field '{name}' is missing"):
        from_data(data)


def test_text_that_is_not_json_is_told() -> None:
    """A syntax error is one sentence with its line."""
    with pytest.raises(Complaint, match=r"not JSON: .* line 2"):
        from_json('{\n"format" 1}')


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(takes())
def test_data_holds_ascii_accidentals_and_plain_numbers(take: Take) -> None:
    """The document is standard JSON: no NaN, no infinity."""
    assert json.loads(to_json(take), parse_constant=lambda name: pytest.fail(name))["format"] == 1
