"""Cadences with their keys, and key centres."""

import random

import pytest

from fixtures.forms.progressions import form, voiced
from stackline.shared.notes import BeatGrid
from stackline.theory.form.cadences import cadences, keys_said
from stackline.theory.form.key_centres import key_centres
from stackline.theory.reading import read
from tests.support.takes.played import attacks, voicings

ANY = (60, 64, 67, 70)


def stated(text: str) -> list[tuple[str, ...]]:
    """Cadences of stated chords: (name, key, symbols)."""
    line = voicings(*[(symbol, ANY) for symbol in text.split()])
    return [(one.name, str(one.key), " ".join(one.symbols)) for one in cadences(line)]


# Common practice: names of cadences, and the key that each is in.
@pytest.mark.parametrize(
    ("text", "name", "key"),
    [
        ("Dm9 G13 Cmaj9", "ii-V-I in major", "C major"),
        ("Dm7b5 G7alt Cm6", "ii-V-i in minor", "C minor"),
        ("Abm9 Db9sus Gbmaj9", "ii-V-I in major", "Gb major"),
        ("Dm9 Db9 Cmaj9", "ii-V-I with the tritone substitute", "C major"),
        ("Fm9 Bb13 Cmaj9", "back-door cadence iv-bVII-I", "C major"),
        ("Fmaj9 Fm6 Cmaj9", "minor plagal cadence IV-iv-I", "C major"),
        ("Dm9 G13", "ii-V, incomplete", "C major"),
        ("Dm7b5 G7(b9)", "ii-V, incomplete", "C minor"),
        ("G13 Cmaj9", "V-I in major", "C major"),
        ("Cmaj9 A7(b9) Dm9 G13", "turnaround I-VI-ii-V", "C major"),
        ("Em9 A7(b9) Dm9 G13 Cmaj9", "turnaround iii-VI-ii-V-I", "C major"),
        ("D13 G13 C13 F13", "cycle of dominants", "Bb major"),
        ("Dm9 G13 Cm9 F13 Bbm9 Eb13", "ladder of ii-Vs", "Ab major"),
        ("Bb9 Cmaj9", "back-door bVII-I", "C major"),
        ("Db9 Cm9", "tritone substitute to I", "C minor"),
    ],
)
def test_cadences_have_a_name_and_a_key(text: str, name: str, key: str) -> None:
    """One span over all of the chords."""
    assert stated(text) == [(name, key, text)]


def test_a_chord_ends_one_cadence_and_begins_the_next() -> None:
    """The I of a ii-V-I is the I of the turnaround that follows; times are the chords'."""
    line = voicings(*[(s, ANY) for s in ["Dm9", "G13", "Cmaj9", "A7(b9)", "Dm9", "G13"]])
    first, second = cadences(line)
    assert (first.first, first.last, second.first, second.last) == (0, 2, 2, 5)
    assert (first.start_s, first.end_s) == (0.0, 6.0)


def test_chords_that_are_no_cadence_are_none() -> None:
    """A modal vamp has no cadence, nor has an empty take."""
    assert stated("Dm11 Em11 Dm11 Em11") == []
    assert stated("") == []


def test_re_voiced_chords_are_one_chord() -> None:
    """Repeating the V does not break the cadence."""
    line = voicings(*[(s, ANY) for s in ["Dm9", "G13", "G13(b9)", "Cmaj9"]])
    (one,) = cadences(line)
    assert (one.first, one.last, one.symbols) == (0, 3, ("Dm9", "G13", "Cmaj9"))


def test_key_centres_follow_a_tune_that_moves() -> None:
    """Eb, then a stretch in G: heard from rootless voicings alone."""
    chords = form("Fm9 Bb13 Ebmaj9 Ebmaj9 Am9 D13 Gmaj9 Gmaj9 Am9 D13 Gmaj9 Gmaj9")
    played = voiced(chords, random.Random(8))
    found = read(attacks(*[one.pitches for one in played]), BeatGrid(), end_s=99.0)
    centres = key_centres(found.voicings)
    assert [str(one.key) for one in centres] == ["Eb major", "G major"]
    assert [(one.first, one.last) for one in centres] == [(0, 3), (4, 11)]
    assert key_centres(()) == ()


# Common practice: a II and a V belong to the key that they arrive in.
@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("Dm9 G13 Cmaj9", "C C C"),
        ("Dm9 G13 Ebmaj9", "- - -"),  # does not arrive
        ("Cmaj9 A7(b9) Dm9 G13 Cmaj9", "C C C C C"),  # a turnaround that arrives
        ("Cmaj9 A7(b9) Dm9 G13", "- - - -"),
        ("G13 Cm9 F13 Bbmaj9", "C Bb Bb Bb"),  # the i of C is the ii of Bb
        ("Dm9 G13 Cm9 F13 Bbmaj9", "Bb Bb Bb Bb Bb"),  # iii VI ii V I
        ("D13 G13 C13 F13 Bbmaj9", "- - - Bb Bb"),  # dominants on their way are in no key
        ("Dm9 Db13 Cmaj9", "C C C"),
        ("Dm11 Em11 Dm11", "- - -"),
    ],
)
def test_a_key_is_said_by_a_cadence_that_arrives(text: str, keys: str) -> None:
    """Each chord's key, and none where nothing arrives."""
    line = voicings(*[(symbol, ANY) for symbol in text.split()])
    assert [one.tonic if one else "-" for one in keys_said(line)] == keys.split()
