"""Scoring of chord names on true notes of made takes."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from bench.naming.take_names import WALKS, main, score_names, true_notes
from fixtures.played.takes import FREE, LISTED, make_take
from fixtures.played.truth import TrueChord


def test_a_perfect_ear_hears_every_true_note() -> None:
    """Pitches, times and number are those of the take."""
    take = make_take(3, LISTED, duration_s=20.0)
    heard = true_notes(take)
    assert [(n.onset_s, n.midi) for n in heard] == [(n.onset_s, n.midi) for n in take.notes]


def test_wrong_truth_costs_what_it_should() -> None:
    """With every root a tritone off nearly nothing is right; as meant, most of it is."""
    takes = [make_take(seed, LISTED, duration_s=25.0) for seed in range(6)]
    right = score_names(takes)
    off = [replace(take, attacks=tuple(
        replace(a, chord=a.chord and TrueChord(root_pc=(a.chord.root_pc + 6) % 12,
                                               quality=a.chord.quality))
        for a in take.attacks)) for take in takes]  # fmt: skip
    wrong = score_names(off)
    assert right.chords == wrong.chords > 60
    assert right.root_and_family > 0.6 > 0.2 > wrong.root_and_family
    assert right.root_and_family <= right.root
    assert right.root_and_family <= right.or_the_same_notes
    assert right.right_where_sure > right.root_and_family


def test_takes_without_chords_are_refused() -> None:
    """A free take means no chord."""
    with pytest.raises(ValueError, match="no chord"):
        score_names([make_take(1, FREE, duration_s=10.0)])


def test_the_command_writes_every_walk(tmp_path: Path) -> None:
    """One row for each, with its figures and how it was made."""
    out = tmp_path / "names.json"
    done = CliRunner().invoke(main, ["--takes", "2", "--first-seed", "5", "--out", str(out)])
    assert done.exit_code == 0, done.output
    data = json.loads(out.read_text())
    assert list(data["walks"]) == list(WALKS)
    assert data["made"]["first_seed"] == 5
    assert all(row["chords"] > 20 for row in data["walks"].values())
