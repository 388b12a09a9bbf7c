"""The study sheet of a take as a PDF: A4, to print, hand out and write on.

The same words and pictures as the page, without what needs a screen: what was played in a few
sentences, what landed of what was due, each voicing on its keyboard with the voices to the next,
and the vocabulary. Here it becomes data; ``templates/sheet.typ`` gives everything its place.
The score is a file of its own (`stackline.report.printed.pdf_file`).
"""

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from itertools import groupby
from typing import Any

from stackline.report.contents import keyboard_picture as picture
from stackline.report.contents.page_rows import Row, rows
from stackline.report.contents.page_tables import key_rows, missed_rows, rate_rows, shape_rows
from stackline.report.contents.vocabulary import vocabulary
from stackline.report.printed.typesetting import typeset
from stackline.report.words.page_text import facts, hands_note, prose
from stackline.report.words.summary import Sentence, as_text, summary, title
from stackline.report.words.take_view import TakeView
from stackline.report.words.time_words import rhythm_sentences
from stackline.shared.harmony import Voicing
from stackline.theory.chords.spelling import with_signs

LEGEND = (
    "Square: guide tone (3, 7). Round and filled: tension (9, 11, 13). Outline: root, 5, 6. "
    "Dashed: held from before. Triangle: top line. Between keyboards, thick: common tone; "
    "broken: guide-tone line; thick and broken: did not land."
)
MOST_PLACES = 12  # listed beside a voicing that is struck again and again


def render(view: TakeView) -> bytes:
    """The bytes of the PDF; a take in which nothing was heard says so on one page.

    Raises Complaint where the extra is not installed.
    """
    instead = "choose the format page and print it from the browser"
    return typeset("sheet.typ", sheet_data(view), instead=instead)


def sheet_data(view: TakeView) -> dict[str, Any]:
    """All that the sheet prints, as text and numbers."""
    take, rates, keys = view.take, rate_rows(view), key_rows(view)
    tables = [("degree of the dominant", rates), ("into", keys)]
    shown = tables[: 2 if len(keys) > 1 else 1] if rates else []
    return {
        "title": title(take),
        "made_by": f"stackline {take.version}; ear: {take.ear}",
        "facts": facts(view),
        "summary": _sentences(summary(view)),
        "rates": [(head, [asdict(row) for row in found]) for head, found in shown],
        "missed": [f"{one.where}: {one.words}." for one in missed_rows(view)],
        "rhythm": _sentences(rhythm_sentences(view)),
        "legend": LEGEND,
        "voicings": list(_voicings(view)),
        "shapes": list(_shapes(view)),
        "note": hands_note(take),
        "keyboard": {
            "keyboard_h": picture.KEYBOARD_H,
            "top_h": picture.TOP_H,
            "white_h": picture.WHITE_H,
            "black_w": picture.BLACK_W,
            "black_h": picture.BLACK_H,
            "lines_h": picture.LINES_H,
        },
    }


def _sentences(found: Sequence[Sentence]) -> list[str]:
    return [prose(as_text((one,))) for one in found]


def _voicings(view: TakeView) -> Iterator[dict[str, Any]]:
    """A row a voicing; one that is only struck again shares the row of the first."""
    played = view.take.voicings
    stretch = picture.stretch_of(midi for voicing in played for midi in voicing.pitches)
    found = list(zip(rows(view, stretch), played, strict=True))
    grouped = groupby(found, lambda one: (one[1].chord.symbol, one[1].pitches))
    runs = [list(run) for _, run in grouped]
    for number, run in enumerate(runs, start=1):
        told = _told([row for row, _ in run])
        lines = [asdict(one) for one in run[-1][0].lines] if number < len(runs) else []
        yield _keys(run[0][1], stretch) | told | {"lines": lines}


def _keys(voicing: Voicing, stretch: picture.Stretch) -> dict[str, Any]:
    """A keyboard with what is played on it."""
    keys = [(stretch.x(midi), picture.is_black(midi)) for midi in stretch.keys]
    n_whites = sum(not black for _, black in keys)
    return {
        "width": stretch.width,
        "gaps": [picture.KEY_W * i for i in range(1, n_whites)],
        "blacks": [x for x, black in keys if black],
        "markers": [
            asdict(one) | {"degree": with_signs(one.degree)}
            for one in picture.markers(voicing, stretch)
        ],
        "brackets": [asdict(one) for one in picture.brackets(voicing, stretch)],
    }


def _told(run: Sequence[Row]) -> dict[str, Any]:
    """Where, what, how sure, and what became of the resolutions into the next voicing."""
    first, last = run[0], run[-1]
    doubtful = next((row for row in run if row.doubt), first)
    landed = [one.short + _how(one.sign) for one in last.resolved if one.arrived]
    missed = [one.short for one in last.resolved if not one.arrived]
    places = [row.place for row in run]
    return {
        "places": _listed(places[:MOST_PLACES], len(places) - MOST_PLACES),
        "symbol": first.symbol,
        "top": first.top,
        "spoken": first.spoken,
        "unsure": bool(doubtful.doubt),
        "doubt": doubtful.doubt and f"? {doubtful.doubt}",
        "stack": first.stack,
        "explained": first.explained,
        "why": doubtful.why and f"? {doubtful.why}",
        "warnings": first.warnings,
        "other": f"or {doubtful.other.symbol} ({doubtful.other.chance})" if doubtful.other else "",
        "parallel": last.parallel,
        "landed": f"landed: {', '.join(landed)}" if landed else "",
        "missed": f"not landed: {', '.join(missed)}" if missed else "",
    }


def _listed(places: Sequence[str], more: int) -> str:
    return ", ".join(places) + (f" and {more} more" if more > 0 else "")


def _how(sign: str) -> str:
    """``8ve`` or ``late`` in brackets, nothing for a plain landing."""
    _, _, how = sign.partition(" ")
    return f" ({how})" if how else ""


def _shapes(view: TakeView) -> Iterator[dict[str, Any]]:
    """The vocabulary: a shape's keys where it was first played, stack, kind, how often, where."""
    uses = vocabulary(view.take)
    for row, use in zip(shape_rows(view, uses), uses, strict=True):
        voicing = view.take.voicings[use.example]
        times = {1: "once", 2: "twice"}.get(row.count, f"{row.count} times")
        places = [link.place for link in row.links]
        yield _keys(voicing, picture.stretch_of(voicing.pitches)) | {
            "unsure": False,
            "spoken": f"{row.stack} on {row.quality}",
            "stack": row.stack,
            "quality": row.quality,
            "structure": row.structure,
            "times": f"{times}, over {row.keys}",
            "places": _listed(places, row.count - len(places)),
        }
