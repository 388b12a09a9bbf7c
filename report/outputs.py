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


@dataclass(frozen=True)
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


def _alone(render: Callable[[Take], str | bytes]) -> Renderer:
    """A renderer that asks for nothing but the take."""
    return lambda take, _: render(take)


EXTRA = '(an extra: pip install ".[pdf]" in a clone)'
FORMATS = {
    "page": Format(".html", "study sheet with sound, in any browser", _page),
    "text": Format(".txt", "the table of the terminal, with the notes of each beat",
                   lambda take, _: table.render(take, beats=True)),
    "midi": Format(".mid", "notes, hands and chord markers for a sequencer",
                   _alone(midi_file.render)),
    "musicxml": Format(".musicxml", "the score for a notation editor",
                       _alone(musicxml_file.render)),
    "score": Format(".score.html", "the engraved score, to read or print in any browser",
                    _alone(score_document.render)),
    "pdf": Format(".pdf", f"the engraved score on A4, to print {EXTRA}", _alone(pdf_file.render)),
    "sheet": Format(".sheet.pdf", f"the study sheet on A4, to print {EXTRA}",
                    _alone(sheet_file.render)),
    "grid": Format(".grid.pdf", f"the changes on one sheet of A4, with stacks and cadences {EXTRA}",
                   _alone(changes_sheet.render)),
    "json": Format(".json", "everything, for programs", _alone(to_json)),
    "csv": Format(".csv", "one row a voicing, for a spreadsheet", _alone(csv_file.render)),
    "lab": Format(".lab", "chords in Harte syntax, for evaluation", _alone(lab_file.render)),
    "jams": Format(".jams", "annotations for research tools", _alone(jams_file.render)),
}  # fmt: skip


# What the page links to where it lies beside it, and what the link says.
LINKED = {"midi": "MIDI", "musicxml": "MusicXML", "pdf": "score (PDF)", "sheet": "sheet (PDF)",
          "grid": "changes (PDF)"}  # fmt: skip


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
    sound: PageSound | None = None,
) -> list[Path]:
    """Write a take in some formats and return the paths, in the order of `formats`.

    Files are called after the recording: ``warm-up.wav`` gives ``warm-up.html``. Each is
    whole or not there. recording_path: the sound for the page; without it the page asks
    for the file. making: its page, where that is in the making already; sound: of the page, where
    it is there already.
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
        parts = replace(parts, sound=sound or _sound(take, recording_path, making), beside=links)
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
