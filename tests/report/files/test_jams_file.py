"""JAMS: every document is read back by the jams package, against that package's own schemas."""

import io
import json
from collections.abc import Callable
from dataclasses import replace

import jams
import pytest

from stackline.report.files import jams_file
from stackline.report.words.take_view import TakeView
from stackline.shared.take import Take
from tests.support.takes.sample_take import empty_take, gridless_take, long_take, sample_take

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning:jsonschema")


def pickup_take() -> Take:
    """The sample without its first beat, and under a name with a line break."""
    take = sample_take()
    return replace(
        take,
        grid=replace(take.grid, beats=take.grid.beats[1:]),
        source=replace(take.source, name="a\nb \u97f3.wav"),
    )


@pytest.mark.parametrize(
    "make", [sample_take, gridless_take, empty_take, pickup_take, lambda: long_take(40)]
)
def test_jams_validates(make: Callable[[], Take]) -> None:
    """The package reads it back, strictly, with every note where it was."""
    take = make()
    document = jams.load(io.StringIO(jams_file.render(TakeView(take))), validate=True, strict=True)
    notes = document.search(namespace="note_midi")
    found = [(row.time, row.value) for row in notes[0].data] if notes else []
    assert sorted(found) == sorted((note.onset_s, note.midi) for note in take.notes)
    assert document.file_metadata.duration == take.source.duration_s


def test_the_package_refuses_a_document_that_is_wrong() -> None:
    """What validates the others does see a chord that is no Harte syntax."""
    wrong = jams_file.render(TakeView(sample_take())).replace("Eb:min9", "E flat minor")
    with pytest.raises(jams.SchemaError):
        jams.load(io.StringIO(wrong), validate=True, strict=True)


def test_jams_says_what_was_heard() -> None:
    """Chords in Harte syntax with their confidence, beats by number, keys."""
    rows = {
        one["namespace"]: one["data"]
        for one in json.loads(jams_file.render(TakeView(sample_take())))["annotations"]
    }
    assert [row["value"] for row in rows["chord"]][:2] == ["Eb:min9", "Ab:7(b9,13)"]
    assert rows["chord"][4]["confidence"] == 0.58
    assert [row["value"]["position"] for row in rows["beat_position"]][:5] == [1, 2, 3, 4, 1]
    assert [row["value"] for row in rows["key_mode"]] == ["Db:major", "C:major"]
