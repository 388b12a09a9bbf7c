"""``stackline ways`` as it is typed."""

import io
import json
from pathlib import Path

import mido
import pytest
from click.testing import CliRunner

from stackline.cli import commands
from stackline.practice.drills.drill import make_drill
from stackline.practice.drills.drill_take import as_take
from stackline.practice.library.library import Library
from stackline.practice.targets.target_text import parse_target
from stackline.shared.codec.codec_write import to_json
from stackline.shared.complaint import Complaint
from tests.support.places import ROOT

STACKS = "IIm9: b3 5 b7 9 > V13: b7 9 3 13 > Imaj9: 3 5 7 9"


def _run(*typed: str) -> str:
    done = CliRunner().invoke(commands, ["ways", *typed], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.output


def test_chords_stand_in_the_key_in_which_they_are_written() -> None:
    """Chords stand in the key in which they are written."""
    text = _run("Fm9 | Bb13 | Ebmaj9", "--hands", "left")
    assert "Ab3 C4 Eb4 G4" in text
    assert "--key Eb" in text


def test_facts_as_json_and_sound_as_midi(tmp_path: Path) -> None:
    """Mido reads the notes that the facts name."""
    out = tmp_path / "ways.mid"
    said = CliRunner().invoke(
        commands, ["ways", "Dm9 | G13 | C6/9", "--json", "--midi", str(out)], catch_exceptions=False
    )
    ways = json.loads(said.stdout)["ways"]
    file = mido.MidiFile(file=io.BytesIO(out.read_bytes()))
    struck = [m.note for m in file.tracks[1] if m.type == "note_on" and m.velocity]
    named = [pitch for way in ways for chord in way["chords"] for pitch in chord["pitches"]]
    assert sorted(struck) == sorted(named)


def test_a_page_shows_and_plays_them(tmp_path: Path) -> None:
    """A page shows and plays them."""
    page = tmp_path / "ways.html"
    _run("Dm9 | G13 | C6/9", "--page", str(page))
    assert "G13" in page.read_text(encoding="utf-8")


def test_one_chord_of_a_take(tmp_path: Path) -> None:
    """One chord of a take."""
    take = tmp_path / "take.json"
    made = as_take(make_drill(parse_target(STACKS), [0]), version="test")
    take.write_text(to_json(made), encoding="utf-8")
    library = tmp_path / "kept.db"
    text = _run(str(take), "--at", "bar 2", "--library", str(library))
    assert "G13" in text.splitlines()[0]
    assert "the same top note" in text
    assert "not used of late" not in text
    assert not library.exists()
    with Library(library) as kept:
        kept.add(made)
    data = json.loads(_run(str(take), "--at", "2.1", "--library", str(library), "--json"))
    unused = [one for one in data["ways"] if one["why"] == "not used of late"]
    assert unused
    assert unused[0]["stack"] != ["b7", "9", "3", "13"]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        (["Dm9 | G13", "--hands", "three"], "allowed are left, two, any"),
        (["Dm9 | G13", "--reach", "12th"], "allowed are octave, 9th, 10th"),
        (["Dm9 | G13", "--top", "9"], "1 degrees on top for 2 chords"),
        (["Dm9 | Gxx"], "cannot read the chord"),
        (["take.json", "--at", "2.1", "--reharm"], "--at shows one chord"),
    ],
)
def test_what_cannot_be_is_one_sentence(typed: list[str], sentence: str) -> None:
    """What cannot be is one sentence."""
    with pytest.raises(Complaint, match=sentence):
        CliRunner().invoke(commands, ["ways", *typed], catch_exceptions=False)


def test_help_has_an_example() -> None:
    """Help has an example."""
    assert "stackline ways" in _run("--help")
    assert (ROOT / "docs" / "commands.md").read_text(encoding="utf-8").count(
        "## stackline ways"
    ) == 1
