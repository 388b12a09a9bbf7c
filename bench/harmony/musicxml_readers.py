"""Outside readers of MusicXML: the published schema and music21; and what they should find."""

import gzip
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import xmlschema
from music21 import converter, note, stream

from stackline.report.notation import musicxml_file
from stackline.report.score.score_layout import lay_out
from stackline.shared.take import Take

DATA = Path(__file__).parents[2] / "tests" / "data"
SCHEMA = DATA / "musicxml" / "musicxml_4_0.xsd.gz"


IMPORTED = {
    "http://www.w3.org/XML/1998/namespace": "XML/xml.xsd",
    "http://www.w3.org/1999/xlink": "XLINK/xlink.xsd",
}


@cache
def schema() -> xmlschema.XMLSchema:
    """The W3C schema of MusicXML 4.0; what it imports comes with the validator."""
    folder = Path(xmlschema.__file__).parent / "schemas"
    locations = {name: str(folder / path) for name, path in IMPORTED.items()}
    text = gzip.decompress(SCHEMA.read_bytes()).decode("utf-8")
    return xmlschema.XMLSchema(text, locations=locations, allow="local")


def errors(document: str) -> list[str]:
    """What the schema has against a document (its DOCTYPE aside: nothing is fetched)."""
    plain = document.replace(musicxml_file.DOCTYPE, "")
    return [f"{error.path}: {error.reason}" for error in schema().iter_errors(plain)]


def read_by_music21(document: str) -> list[tuple[Fraction, int]]:
    """(quarters from the start, pitch) of every note that no tie continues."""
    found = []
    score = converter.parseData(document, format="musicxml")
    assert isinstance(score, stream.Score)
    for part in score.parts:
        one: Any  # a note or a chord of notes
        for one in part.recurse().getElementsByClass(note.NotRest):
            if "Harmony" in one.classes:
                continue
            for head in getattr(one, "notes", (one,)):
                if head.tie is None or head.tie.type == "start":
                    found.append((Fraction(one.getOffsetInHierarchy(part)), head.pitch.midi))
    return sorted(found)


def written(take: Take) -> list[tuple[Fraction, int]]:
    """The same, from the neutral score."""
    found, start = [], Fraction(0)
    for bar in lay_out(take).bars:
        found += [
            (start + item.start, head.midi)
            for line in bar.lines for item in line.items for head in item.heads
            if not head.tied_in
        ]  # fmt: skip
        start += bar.length
    return sorted(found)
