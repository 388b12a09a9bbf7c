"""One spelling of a key in every room, and ``--spell``."""

import json
import re

import pytest
from click.testing import CliRunner

from stackline.cli import commands
from stackline.shared.notes import BeatGrid
from stackline.theory.chords.keys import MAJOR_TONICS, MINOR_TONICS
from stackline.theory.chords.spelling import asked_spelling
from stackline.theory.form.key_centres import key_centres
from stackline.theory.reading import read
from tests.support.takes.played import attacks

MAJOR, MINOR = "Dm9 | G13 | Cmaj9", "Dm7b5 | G7(b9,b13) | Cm6/9"


def drilled(changes: str, *words: str) -> list[dict]:
    """The keys of a drill as JSON."""
    result = CliRunner().invoke(commands, ["drill", "--changes", changes, "--json", *words])
    assert result.exit_code == 0, result.output
    return json.loads(result.output)["keys"]


@pytest.mark.parametrize("changes", [MAJOR, MINOR])
@pytest.mark.parametrize("spell", ["key", "flats", "sharps"])
def test_no_drill_shows_double_accidentals(changes: str, spell: str) -> None:
    """In twelve keys, by their key or alike: roots and notes have one accidental at most."""
    table = CliRunner().invoke(commands, ["drill", "--changes", changes, "--spell", spell]).output
    assert not re.search(r"[A-G](bb|##)", table)
    for key in drilled(changes, "--spell", spell):
        for chord in key["voicings"]:
            (root,) = re.findall(r"^[A-G][b#]?", chord["symbol"])
            assert not ("#" in root and spell == "flats")
            assert not ("b" in root and spell == "sharps")
    assert asked_spelling() == "key"  # it held while the command ran, and no longer


@pytest.mark.parametrize(("changes", "tonics"), [(MAJOR, MAJOR_TONICS), (MINOR, MINOR_TONICS)])
def test_a_drill_calls_keys_as_a_heard_take_does(changes: str, tonics: tuple[str, ...]) -> None:
    """Each key's name, and the last chord's root, are the tonic's usual name in that mode."""
    keys = drilled(changes)
    assert {key["key"] for key in keys} == set(tonics)
    for key in keys:
        assert re.findall(r"^[A-G][b#]?", key["voicings"][-1]["symbol"]) == [key["key"]]


# Rootless ii-V-I and ii-V-i over C, low to high; common practice.
HEARD = {
    False: ((53, 57, 60, 64), (53, 57, 59, 64), (52, 55, 59, 62), (52, 55, 57, 62)),
    True: ((53, 56, 60, 62), (53, 56, 59, 63), (51, 55, 57, 62), (51, 55, 57, 62)),
}


@pytest.mark.parametrize("minor", [False, True])
@pytest.mark.parametrize("up", range(12))
def test_a_heard_cadence_is_spelled_in_the_key_that_is_named(minor: bool, up: int) -> None:
    """The tonic chord has the tonic's name, no chord or note two accidentals."""
    stacks = [tuple(pitch + up for pitch in stack) for stack in HEARD[minor]]
    voicings = read(attacks(*stacks), BeatGrid(), end_s=8.0).voicings
    (centre,) = key_centres(voicings)
    assert (centre.key.tonic_pc, centre.key.minor) == (up, minor)
    assert centre.key.tonic == (MINOR_TONICS if minor else MAJOR_TONICS)[up]
    assert voicings[-1].chord.symbol.root == centre.key.tonic
    for voicing in voicings:
        assert len(voicing.chord.symbol.root) <= 2
        assert not any(re.match(r"[A-G](bb|##)", tone.name) for tone in voicing.tones)
