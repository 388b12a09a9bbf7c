"""Changes out of MusicXML: our own score, repeats and endings, and a score that music21 wrote."""

import io
import zipfile
from pathlib import Path

import pytest

from stackline.report.notation import musicxml_file
from stackline.report.words.take_view import TakeView
from stackline.shared.complaint import Complaint
from stackline.theory.sheet.changes import Changes
from stackline.theory.sheet.changes_text import parse_changes
from stackline.theory.sheet.score_changes import changes_of_score
from tests.support.takes.sample_take import sample_take

KINDS = {"": ("major", ""), "7": ("dominant", "7"), "m7": ("minor-seventh", "m7")}


def _harmony(root: str, kind: str, offset: int = 0) -> str:
    name, text = KINDS[kind]
    return (
        f'<harmony><root><root-step>{root}</root-step></root><kind text="{text}">{name}</kind>'
        f"{f'<offset>{offset}</offset>' if offset else ''}</harmony>"
    )


def _bar(number: int, inner: str, *, left: str = "", right: str = "", first: str = "") -> str:
    rest = "<note><rest/><duration>4</duration><type>whole</type></note>"
    return f'<measure number="{number}">{left}{first}{inner}{rest}{right}</measure>'


ATTRIBUTES = (
    "<attributes><divisions>1</divisions>"
    "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)


def _score(*bars: str) -> bytes:
    part = "".join(bars)
    return f'<score-partwise version="4.0"><part id="P1">{part}</part></score-partwise>'.encode()


def _texts(changes: Changes) -> list[list[str]]:
    return [[one.text if one else "N.C." for one in bar.chords] for bar in changes.bars]


def test_chords_stand_at_their_beats() -> None:
    """Two in a bar, a bar that holds on, and one without a chord at all."""
    none = "<harmony><root><root-step>C</root-step></root><kind>none</kind></harmony>"
    found = changes_of_score(_score(
        _bar(1, _harmony("D", "m7") + _harmony("G", "7", 2), first=ATTRIBUTES),
        _bar(2, ""), _bar(3, none), _bar(4, _harmony("C", "")),
    ))  # fmt: skip
    assert _texts(found) == [["Dm7", "G7"], ["G7"], ["N.C."], ["C"]]
    assert found.bars[0].beats == (2, 2)
    assert found.meter == (4, 4)


def test_repeats_and_endings_are_played_out() -> None:
    """The same form as text, with a repeat of three times after it."""

    def ending(number: str, kind: str, repeat: str = "") -> str:
        return f'<barline><ending number="{number}" type="{kind}"/>{repeat}</barline>'

    forward = '<barline location="left"><repeat direction="forward"/></barline>'
    back = '<repeat direction="backward"/>'
    thrice = '<barline><repeat direction="backward" times="3"/></barline>'
    found = changes_of_score(_score(
        _bar(1, _harmony("C", ""), first=ATTRIBUTES, left=forward),
        _bar(2, _harmony("A", "7"), left=ending("1", "start"), right=ending("1", "stop", back)),
        _bar(3, _harmony("G", "7"), left=ending("2", "start"), right=ending("2", "stop")),
        _bar(4, _harmony("F", ""), left=forward, right=thrice),
        _bar(5, _harmony("D", "m7")),
    ))  # fmt: skip
    text = "|: C |1. A7 :|2. G7 |: F :| x3 Dm7 |"
    assert _texts(found) == [["C"], ["A7"], ["C"], ["G7"], ["F"], ["F"], ["F"], ["Dm7"]]
    assert _texts(found) == _texts(parse_changes(text))


def test_our_own_score_gives_its_chords() -> None:
    """Every chord of the take that is written, in order, without the runner-up."""
    take = sample_take()
    found = changes_of_score(musicxml_file.render(TakeView(take)).encode())
    written = [chord.text for bar in found.bars for chord in bar.chords if chord]
    order = [text for i, text in enumerate(written) if not i or written[i - 1] != text]
    heard = [voicing.chord.symbol.text for voicing in take.voicings]
    assert order == [text for i, text in enumerate(heard) if not i or heard[i - 1] != text]


def test_a_score_of_another_writer(tmp_path: Path) -> None:
    """music21 writes four chords; they come back, from the text and from the packed file."""
    from music21 import harmony, meter, note, stream

    part = stream.Part()
    for i, symbol in enumerate(("Dm7", "G7", "CM7", "Am7")):
        bar = stream.Measure(number=i + 1)
        if not i:
            bar.append(meter.TimeSignature("4/4"))
        bar.insert(0, harmony.ChordSymbol(symbol))
        bar.append(note.Rest(quarterLength=4))
        part.append(bar)
    path = tmp_path / "made.musicxml"
    stream.Score([part]).write("musicxml", fp=path)
    data = path.read_bytes()
    wanted = [["Dm7"], ["G7"], ["Cmaj7"], ["Am7"]]
    assert _texts(changes_of_score(data)) == wanted
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as file:
        file.writestr("META-INF/container.xml", "<container/>")
        file.writestr("score.xml", data)
    assert _texts(changes_of_score(packed.getvalue())) == wanted


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"<score-partwise><part>", "no whole XML"),
        (b"<svg/>", "begins with <svg>"),
        (_score(_bar(1, "")), "no chord symbols"),
        (b"PK\x03\x04 broken", "cannot be opened"),
        (b'<!DOCTYPE a [<!ENTITY b "c">]><score-partwise/>', "entities"),
        (_score(_bar(1, _harmony("C", "") + '<sound dacapo="yes"/>', first=ATTRIBUTES)), "a jump"),
    ],
)
def test_what_cannot_be_read_is_said(data: bytes, sentence: str) -> None:
    """One sentence each."""
    with pytest.raises(Complaint, match=sentence):
        changes_of_score(data)
