"""The files that a take can be written as: one table, and one function that writes.

A renderer is pure: a view of a take in, text or bytes out; the page's knows its sound besides.
To add a format, write its renderer and add a row here; the command line reads this table.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import Protocol
from urllib.parse import quote

from stackline.report.contents.chart_labels import pitch_rows
from stackline.report.files import csv_file, jams_file, lab_file, midi_file, table
from stackline.report.notation import musicxml_file, score_document
from stackline.report.notation.score_in_page import page_score
from stackline.report.page import index_page, page
from stackline.report.page.page_worker import PageInTheMaking
from stackline.report.printed import changes_sheet, pdf_file, sheet_file
from stackline.report.sound.page_sound import PageSound, page_sound
from stackline.report.sound.spectrogram import picture
from stackline.report.words.take_view import TakeView
from stackline.shared.codec.codec_write import to_json
from stackline.shared.complaint import Complaint
from stackline.shared.files import write_bytes, write_text
from stackline.shared.take import Take
from stackline.theory.chords.foreign_chords import check_chords

INDEX = "index.html"  # of the pages of several takes


class Renderer(Protocol):
    """What makes a take a file's text or bytes."""

    def __call__(self, view: TakeView, /) -> str | bytes: ...


@dataclass(frozen=True, kw_only=True)
class PageRenderer:
    """Renders the page, with what it may have besides the take.

    score: gives the engraved pages. beside: link and label of the take's other files.
    """

    sound: PageSound | None = None
    score: Callable[[Take], Sequence[str]] = page_score
    beside: tuple[tuple[str, str], ...] = ()

    def __call__(self, view: TakeView) -> str:
        if self.sound is None or not view.take.notes:
            return page.render(view, score=self.score, beside=self.beside)
        behind = picture(self.sound.strengths, *pitch_rows(view.take))
        return page.render(view, self.sound.audio, behind, self.score, self.beside)


def _with_beats(view: TakeView) -> str:
    return table.render(view, beats=True)


def _facts(view: TakeView) -> str:
    return to_json(view.take)


@dataclass(frozen=True)
class Format:
    """How a take becomes a file: the ending of its name, what it is for, and its renderer."""

    suffix: str
    purpose: str
    render: Renderer


EXTRA = '(an extra: pip install ".[pdf]" in a clone)'
FORMATS = {
    "page": Format(".html", "study sheet with sound, in any browser", PageRenderer()),
    "text": Format(".txt", "the table of the terminal, with the notes of each beat",
                   _with_beats),
    "midi": Format(".mid", "notes, hands and chord markers for a sequencer",
                   midi_file.render),
    "musicxml": Format(".musicxml", "the score for a notation editor",
                       musicxml_file.render),
    "score": Format(".score.html", "the engraved score, to read or print in any browser",
                    score_document.render),
    "pdf": Format(".pdf", f"the engraved score on A4, to print {EXTRA}", pdf_file.render),
    "sheet": Format(".sheet.pdf", f"the study sheet on A4, to print {EXTRA}",
                    sheet_file.render),
    "grid": Format(".grid.pdf", f"the changes on one sheet of A4, with stacks and cadences {EXTRA}",
                   changes_sheet.render),
    "json": Format(".json", "everything, for programs", _facts),
    "csv": Format(".csv", "one row a voicing, for a spreadsheet", csv_file.render),
    "lab": Format(".lab", "chords in Harte syntax, for evaluation", lab_file.render),
    "jams": Format(".jams", "annotations for research tools", jams_file.render),
}  # fmt: skip


# What the page links to where it lies beside it, and what the link says.
LINKED = {"midi": "MIDI", "musicxml": "MusicXML", "pdf": "score (PDF)", "sheet": "sheet (PDF)",
          "grid": "changes (PDF)", "lab": "labels (unsure chords are X)"}  # fmt: skip


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
    view, renderers = TakeView(take), {name: FORMATS[name].render for name in names}
    if "page" in names:
        links = tuple((quote(paths[name].name), LINKED[name]) for name in names if name in LINKED)
        sound = sound or _sound(take, recording_path, making)
        if making is not None:
            making.begin_score(take)
        score = making.score if making is not None else page_score
        renderers["page"] = PageRenderer(sound=sound, score=score, beside=links)
    for name in sorted(paths, key=lambda name: name == "page"):  # what waits comes last
        _put(paths[name], renderers[name](view))
    return [paths[name] for name in names]


def write_as(name: str, view: TakeView, path: Path) -> None:
    """Write a take in one format to a file; Complaint for an unknown format."""
    _check((name,))
    _put(path, FORMATS[name].render(view))


def _put(path: Path, content: str | bytes) -> None:
    write_bytes(path, content if isinstance(content, bytes) else content.encode("utf-8"))


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
