"""Takes whose chords another program named."""

import json
from pathlib import Path

import pytest

from stackline.options.take_source import read_take
from stackline.report.outputs import write
from stackline.shared.codec.codec_read import from_json
from stackline.shared.codec.codec_write import to_json
from stackline.shared.complaint import Complaint
from stackline.theory.chords.foreign_chords import check_chords
from tests.support.takes.sample_take import sample_take


def foreign(**names: str) -> str:
    """The sample's JSON with other names for its third chord."""
    data = json.loads(to_json(sample_take()))
    data["voicings"][2]["chord"] |= names
    return json.dumps(data)


def test_our_own_chords_pass() -> None:
    """The sample, alternatives included, and nothing at all."""
    check_chords(sample_take().voicings)
    check_chords(())
    assert from_json(to_json(sample_take())).voicings


@pytest.mark.parametrize(
    ("names", "told"),
    [
        ({"quality": "13(zz)"}, r"^.*take\.json: voicing 3 at \d+:\d\d\.\d: '13\(zz\)' is not a "
         r"known chord quality; write .+ or the like$"),
        ({"quality": "qqqq"}, r"'qqqq' is not a known chord quality; write m9, 13\(b9\), maj7"),
        ({"root": "H"}, "'H' is not the root of a chord; write a note such as C, F# or Bb"),
        ({"root": ""}, "'' is not the root of a chord"),
    ],
)  # fmt: skip
def test_a_chord_that_is_not_in_the_table_is_told(
    names: dict[str, str], told: str, tmp_path: Path
) -> None:
    """One sentence with the file, the voicing, and what may stand there; nothing is written."""
    path = tmp_path / "take.json"
    path.write_text(foreign(**names))
    with pytest.raises(Complaint, match=told):
        read_take(path)
    with pytest.raises(Complaint, match="voicing 3 at"):
        write(from_json(foreign(**names)), tmp_path / "out", ("page", "musicxml"))
    assert not (tmp_path / "out").exists()


def test_a_runner_up_is_checked_too() -> None:
    """The score prints it, so it must be in the table."""
    data = json.loads(to_json(sample_take()))
    index = next(i for i, one in enumerate(data["voicings"]) if one["chord"]["alternatives"])
    data["voicings"][index]["chord"]["alternatives"][0]["quality"] = "maj77"
    with pytest.raises(Complaint, match=f"voicing {index + 1} .*'maj77'.*maj7"):
        check_chords(from_json(json.dumps(data)).voicings)
