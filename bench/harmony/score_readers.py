"""Scores of made takes as other readers see them: the same notes, symbols and bars everywhere?

Run ``python -m bench.harmony.score_readers`` (two minutes; needs ``mscore3``, Debian's MuseScore).
Twenty takes from the seeds below, read from their true notes, are written as MusicXML. The
published schema, music21 and MuseScore read each file; MuseScore writes it out again, and that is
read by music21 too. Counted are takes for which everything agrees, and every difference:

* notes: (quarters from the start, pitch) of each note, tied pieces joined;
* bars: how many, and how long each is;
* symbols: root and kind of what is printed, in order; the editor's from its own file, since what it
  writes as MusicXML doubles a symbol that stands between the notes of the upper voice;
* messages: whatever the schema or the editor says about a file. MuseScore 3.2.3 holds files to its
  own copy of MusicXML 3.1 and says when they are "not valid", which on a screen is a dialogue. A
  line that it logs for every chord with an arpeggio, which it then draws, is counted apart.

Results: bench/results/score_readers.json.
"""

import json
import os
import re
import subprocess
import tempfile
import warnings
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as Et

from music21 import converter, stream

from bench.harmony.musicxml_readers import errors, read_by_music21, written
from bench.scoring.provenance import provenance
from fixtures.played.takes import FREE, LISTED, PRACTISED, make_take
from stackline import Note, read_notes
from stackline.report.notation import musicxml_file
from stackline.report.score.score_layout import lay_out
from stackline.report.words.take_view import TakeView
from stackline.shared.files import write_text
from stackline.shared.harmony import ChordSymbol
from stackline.shared.take import Take
from stackline.theory.chords.harmony_xml import read_harmony

SEEDS = range(73_001, 73_021)
STYLES = (LISTED, FREE, PRACTISED)
RESULTS = Path(__file__).parent.parent / "results" / "score_readers.json"
EDITOR = "mscore3"
ARPEGGIO = "unknown arpeggio type none"  # MuseScore 3.2.3, of an arpeggio without arrow
STARTUP = ("qt.", "QStandardPaths", "libpng", "convert <", "to <", "... success", "QObject",
           "propagateSizeHints", "JACK", "ALSA", "jack", "Cannot connect")  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Again:
    """A score as the editor writes it: as MusicXML, and in its own format."""

    document: str
    own_file: str


def made_take(seed: int) -> Take:
    """One made take, read from its true notes; beats are found, not given."""
    true = make_take(seed, STYLES[seed % len(STYLES)], duration_s=40.0)
    notes = [
        Note(onset_s=one.onset_s, offset_s=one.offset_s, midi=one.midi, velocity=one.velocity,
             confidence=0.97)
        for one in true.notes
    ]  # fmt: skip
    return read_notes(notes, name=f"take-{seed}.wav")


def bars_of(document: str) -> list[Fraction]:
    """The length of each bar in quarters, as music21 reads it."""
    part = next(iter(converter.parseData(document, format="musicxml").getElementsByClass("Part")))
    return [Fraction(one.highestTime) for one in part.getElementsByClass(stream.Measure)]


def symbols_of(document: str) -> list[str]:
    """Printed chord symbols, read back from root, kind and degrees."""
    body = document[document.index("<score-partwise") :]
    return [
        read_harmony(one).text for one in Et.fromstring(body).iter("harmony")
        if one.get("print-object") != "no"
    ]  # fmt: skip


# The same chords by the editor's own names.
OWN_NAMES = {"mMaj9": "m9maj7", "m9b5": "m7b5add9", "m11b5": "m7b5add11"}


def printed(symbol: ChordSymbol) -> str:
    """A symbol as the editor spells its name: without brackets, sus as sus4, 6/9 as 69."""
    name = symbol.text.removeprefix(symbol.root)
    if name in OWN_NAMES:
        return symbol.root + OWN_NAMES[name]
    for ours, theirs in ((r"[(),/]", ""), ("sus", "sus4"), (r"add(\d)", r"add\1")):
        name = re.sub(ours, theirs, name)
    return symbol.root + name


def printed_by_editor(own_file: str) -> list[str]:
    """The chord symbols in the editor's own file; roots are places on the line of fifths there."""
    return [
        f"{on_line_of_fifths(int(one.findtext('root') or 14) - 14)}{one.findtext('name') or ''}"
        for one in Et.fromstring(own_file).iter("Harmony")
    ]


def on_line_of_fifths(place: int) -> str:
    """A note name by its place: 0 is C, 1 is G, -1 is F."""
    number, signs = (place + 1) % 7, (place + 1) // 7
    return "FCGDAEB"[number] + ("#" * signs if signs > 0 else "b" * -signs)


def through_editor(documents: dict[str, str]) -> tuple[dict[str, Again], list[str]]:
    """The same scores as the editor writes them, and what it said, start-up lines left out."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for key, text in documents.items():
            (folder / f"{key}.musicxml").write_text(text, encoding="utf-8")
        jobs = [
            {"in": f"{key}.musicxml", "out": [f"{key}.out.musicxml", f"{key}.mscx"]}
            for key in documents
        ]
        (folder / "jobs.json").write_text(json.dumps(jobs), encoding="utf-8")
        done = subprocess.run(
            [EDITOR, "-j", "jobs.json"],
            cwd=folder,
            env=os.environ | {"QT_QPA_PLATFORM": "offscreen", "XDG_RUNTIME_DIR": name},
            check=False,
            capture_output=True,
            text=True,
            timeout=600,
        )
        said = [
            line for line in (done.stdout + done.stderr).splitlines()
            if line.strip() and not line.strip().startswith(STARTUP)
        ]  # fmt: skip
        found = {
            key: Again(
                document=path.read_text(encoding="utf-8"),
                own_file=(folder / f"{key}.mscx").read_text(encoding="utf-8"),
            )
            for key in documents
            if (path := folder / f"{key}.out.musicxml").exists()
        }
    return found, said


def differences(take: Take, document: str, again: Again | None) -> dict[str, Any]:
    """What disagrees about one take; empty where nothing does."""
    score = lay_out(take)
    notes, bars = written(take), [bar.length for bar in score.bars]
    symbols = [mark.symbol for bar in score.bars for mark in bar.symbols]
    found: dict[str, Any] = {"schema": errors(document)}
    texts = {"music21": document} | ({} if again is None else {"editor": again.document})
    for reader, text in texts.items():
        read = Counter(read_by_music21(text))
        off = (read - Counter(notes)) + (Counter(notes) - read)
        found[f"{reader} notes"] = [f"{place} {midi}" for place, midi in off]
        found[f"{reader} bars"] = [] if bars_of(text) == bars else ["bars differ"]
    found["symbols"] = apart([one.text for one in symbols], symbols_of(document))
    if again is None:
        found["editor"] = ["not written"]
    else:
        named = [printed(one) for one in symbols]
        found["editor symbols"] = apart(named, printed_by_editor(again.own_file))
    return {key: value for key, value in found.items() if value}


def apart(ours: list[str], theirs: list[str]) -> list[str]:
    """What one list has more of than the other; the order of voices is the editor's own."""
    return [
        f"{one} {sign}"
        for sign, more in (
            ("lost", Counter(ours) - Counter(theirs)),
            ("added", Counter(theirs) - Counter(ours)),
        )
        for one in sorted(more.elements())
    ]


def main() -> None:
    """Write, read, compare, keep."""
    warnings.simplefilter("ignore")
    takes = {f"take-{seed}": made_take(seed) for seed in SEEDS}
    documents = {key: musicxml_file.render(TakeView(take)) for key, take in takes.items()}
    again, said = through_editor(documents)
    off = {
        key: found
        for key, take in takes.items()
        if (found := differences(take, documents[key], again.get(key)))
    }
    result = {
        "provenance": provenance(),
        "seeds": [SEEDS.start, SEEDS.stop - 1],
        "takes": len(takes),
        "notes": sum(len(written(take)) for take in takes.values()),
        "bars": sum(len(lay_out(take).bars) for take in takes.values()),
        "symbols": sum(len(b.symbols) for take in takes.values() for b in lay_out(take).bars),
        "takes_without_difference": len(takes) - len(off),
        "messages": [line for line in said if ARPEGGIO not in line],
        "lines_logged_for_arpeggios": sum(ARPEGGIO in line for line in said),
        "differences": off,
    }
    write_text(RESULTS, json.dumps(result, indent=1, ensure_ascii=False) + "\n")
    print(json.dumps({"differences": off, "messages": result["messages"]}, indent=1))


if __name__ == "__main__":
    main()
