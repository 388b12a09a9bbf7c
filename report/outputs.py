"""The files that a take can be written as: one table, and one function that writes.

A renderer is pure: a take (and, for the page, its sound) in, text or bytes out. To
add a format, write its renderer and add a row here; the command line reads this table.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePath
from urllib.parse import quote

from stackline.report.contents.chart import pitch_rows
from stackline.report.files import csv_file, jams_file, lab_file, midi_file, table
from stackline.report.notation import musicxml_file, score_document
from stackline.report.notation.score_in_page import page_score
from stackline.report.page import index_page, page
from stackline.report.page.page_worker import PageInTheMaking
from stackline.report.printed import changes_sheet, pdf_file, sheet_file
from stackline.report.sound.page_sound import PageSound, page_sound
from stackline.report.sound.spectrogram import picture
from stackline.shared.codec.codec_write import to_json
from stackline.shared.complaint import Complaint
from stackline.shared.files import write_bytes, write_text
from stackline.shared.take import Take
from stackline.theory.chords.foreign_chords import check_chords


@dataclass(frozen=True, kw_only=True)
class PageParts:
    """What a page may have besides the take.

    score: gives the engraved pages. beside: link and label of the take's other files.
    """

    sound: PageSound | None = None
    score: Callable[[Take], Sequence[str]] = page_score
    beside: tuple[tuple[str, str], ...] = ()


INDEX = "index.html"  # of the pages of several takes

Renderer = Callable[[Take, PageParts | None], str | bytes]


@dataclass(frozen=True, kw_only=True)
class Format:
    """How a take becomes a file: the ending of its name, what it is for, and its renderer."""

    suffix: str
    purpose: str
    render: Renderer


def _page(take: Take, parts: PageParts | None) -> str:
    parts = parts or PageParts()
    if parts.sound is None or not take.notes:
        return page.render(take, score=parts.score, beside=parts.beside)
    behind = picture(parts.sound.strengths, *pitch_rows(take))
    return page.render(take, parts.sound.audio, behind, parts.score, parts.beside)


FORMATS: dict[str, Format] = {
    "page": Format(suffix=".html", purpose="study sheet with sound, in any browser", render=_page),
    "text": Format(
        suffix=".txt",
        purpose="the table of the terminal, with the notes of each beat",
        render=lambda take, _: table.render(take, beats=True),
    ),
    "midi": Format(
        suffix=".mid",
        purpose="notes, hands and chord markers for a sequencer",
        render=lambda take, _: midi_file.render(take),
    ),
    "musicxml": Format(
        suffix=".musicxml",
        purpose="the score for a notation editor",
        render=lambda take, _: musicxml_file.render(take),
    ),
    "score": Format(
        suffix=".score.html",
        purpose="the engraved score, to read or print in any browser",
        render=lambda take, _: score_document.render(take),
    ),
    "pdf": Format(
        suffix=".pdf",
        purpose='the engraved score on A4, to print (an extra: pip install ".[pdf]" in a clone)',
        render=lambda take, _: pdf_file.render(take),
    ),
    "sheet": Format(
        suffix=".sheet.pdf",
        purpose='the study sheet on A4, to print (an extra: pip install ".[pdf]" in a clone)',
        render=lambda take, _: sheet_file.render(take),
    ),
    "grid": Format(
        suffix=".grid.pdf",
        purpose="the changes on one sheet of A4, with stacks and cadences "
        "(an extra: pip install 'stackline[pdf]')",
        render=lambda take, _: changes_sheet.render(take),
    ),
    "json": Format(
        suffix=".json", purpose="everything, for programs", render=lambda take, _: to_json(take)
    ),
    "csv": Format(
        suffix=".csv",
        purpose="one row a voicing, for a spreadsheet",
        render=lambda take, _: csv_file.render(take),
    ),
    "lab": Format(
        suffix=".lab",
        purpose="chords in Harte syntax, for evaluation",
        render=lambda take, _: lab_file.render(take),
    ),
    "jams": Format(
        suffix=".jams",
        purpose="annotations for research tools",
        render=lambda take, _: jams_file.render(take),
    ),
}


# What the page links to where it lies beside it, and what the link says.
LINKED = {"midi": "MIDI", "musicxml": "MusicXML", "pdf": "score (PDF)", "sheet": "sheet (PDF)"}


def _check(names: Iterable[str]) -> None:
    for name in names:
        if name not in FORMATS:
            raise Complaint(f"unknown format {name!r}; choose from {', '.join(FORMATS)}")


def write(
    take: Take,
    folder: Path,
    formats: Iterable[str],
    recording_path: Path | None = None,
    *,
    making: PageInTheMaking | None = None,
) -> list[Path]:
    """Write a take in some formats and return the paths, in the order of `formats`.

    Files are called after the recording: ``warm-up.wav`` gives ``warm-up.html``. Each is
    whole or not there. recording_path: the sound for the page; without it the page asks
    for the file. making: its page, where that is in the making already.
    Raises Complaint for an unknown format, a folder that cannot be written, or a chord
    from elsewhere that is not in the table of qualities.
    """
    names = tuple(formats)
    _check(names)
    check_chords(take.voicings)
    paths = {name: output_path(take.source.name, folder, name) for name in names}
    parts = PageParts()
    if "page" in names:
        links = tuple((quote(paths[name].name), LINKED[name]) for name in names if name in LINKED)
        parts = replace(parts, sound=_sound(take, recording_path, making), beside=links)
        if making is not None:
            making.begin_score(take)
            parts = replace(parts, score=making.score)
    for name in sorted(paths, key=lambda name: name == "page"):  # what waits comes last
        content = FORMATS[name].render(take, parts)
        if isinstance(content, bytes):
            write_bytes(paths[name], content)
        else:
            write_text(paths[name], content)
    return [paths[name] for name in names]


def _sound(
    take: Take, recording_path: Path | None, making: PageInTheMaking | None
) -> PageSound | None:
    """The page's sound, made now where it is not in the making."""
    if making is not None:
        return making.sound(take.source.duration_s)
    if recording_path is None or not take.notes:
        return None
    return page_sound(recording_path, take.source.duration_s)


def write_index(takes: Sequence[Take], folder: Path) -> Path:
    """Write ``index.html`` over takes whose sheets lie in `folder`, and return its path."""
    path = folder / INDEX
    suffix = FORMATS["page"].suffix
    write_text(
        path, index_page.render([(take, stem_of(take.source.name) + suffix) for take in takes])
    )
    return path


def output_path(recording: str, folder: Path, name: str) -> Path:
    """Where a format of a recording is written."""
    return folder / f"{stem_of(recording)}{FORMATS[name].suffix}"


def stem_of(name: str) -> str:
    """A file name's stem that cannot leave its folder, whatever the recording was called."""
    last = PurePath(name.replace("\\", "/")).name
    stem = PurePath(last).stem
    safe = "".join(char if char.isprintable() and char not in '<>:"|?*' else "_" for char in stem)
    return safe.strip(". ")[:100] or "take"
