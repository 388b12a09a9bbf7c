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
from tests.support.take_strategies import takes


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
        "audio": {"name": "warmup.m4a", "duration_s": 4.0, "sha256": "ab"},
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
    del old["notes"][0]["position"]
    take = from_data(old)
    assert take.not_playing == ()
    assert take.swing_ratio is None
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
            r"take\.rhythm\.chords\[0\]: points at voicing 0, but there are 0",
        ),
        (("mood",), "blue", r"take: unknown field 'mood'"),
        (("audio", "artist"), "x", r"take\.audio: unknown field 'artist'"),
        (("notes", 0, "midi"), 12, r"take\.notes\[0\]: midi must be 21\.\.108, got 12"),
        (
            ("notes", 0, "midi"),
            "C4",
            r"take\.notes\[0\]\.midi: found 'C4', expected a whole number",
        ),
        (("notes", 0, "velocity"), True, r"velocity: found True, expected a whole number"),
        (("attacks", 0, "struck"), [3], r"take\.attacks\[0\]: points at note 3, but there are 1"),
        (("beats",), None, r"take\.beats: found None, expected a list"),
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
