"""A take as one HTML page: a study sheet to read, hear, print and keep.

One file, no network: style, script, drawings, the engraved score, the sound and a small piano
for the written notes are inside, and the page's own content policy forbids everything else, so
that a name from a file can neither run nor fetch. Names are text wherever they stand (the
templates escape everything). Without sound the page asks for the recording. Accidentals are the
real signs.
"""

import base64
import hashlib
import json
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from markupsafe import Markup

from stackline.report.contents import (
    chart,
    chart_labels,
    chart_slots,
    grid_in_page,
    keyboard_picture,
    page_top,
)
from stackline.report.contents.ladder_parts import choices, ladder_parts
from stackline.report.contents.page_rows import rows
from stackline.report.contents.page_tables import (
    beat_rows,
    key_rows,
    missed_rows,
    rate_rows,
    shape_rows,
)
from stackline.report.contents.vocabulary import vocabulary
from stackline.report.html import HERE, asset, environment, filled
from stackline.report.notation.score_in_page import page_score
from stackline.report.sound.embedded_audio import EmbeddedAudio
from stackline.report.sound.page_piano import piano_json
from stackline.report.sound.roots_under import roots_json
from stackline.report.sound.spectrogram import Spectrogram
from stackline.report.words.page_text import ear_note, facts, hands_note, prose, wide_hands
from stackline.report.words.summary import Sentence, details, leaning, title
from stackline.report.words.take_view import TakeView
from stackline.report.words.time_words import not_playing_words, rhythm_sentences
from stackline.shared.take import Take
from stackline.theory.chords.foreign_chords import is_known

POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src '{hash}'; "
    "media-src data: blob:; img-src data:"
)
LIST_ROWS = 12  # of a list or table; the others are folded away
UNFOLDED_PAGES = 2  # a longer score shows its first page and folds the others
_NAMESPACE = re.compile(r' xmlns(:xlink)?="[^"]*"')  # needless within HTML
SCRIPTS = (  # one script on the page, in this order
    "page_score.js", "page_piano.js", "page_places.js", "page_lights.js", "page_notes.js",
    "page_player.js", "page_controls.js", "page_onward.js",
)  # fmt: skip


def render(
    view: TakeView,
    audio: EmbeddedAudio | None = None,
    behind: Spectrogram | None = None,
    score: Callable[[Take], Sequence[str]] = page_score,
    beside: Sequence[tuple[str, str]] = (),
) -> str:
    """The page.

    audio: the recording to play, None where it cannot be put inside. behind: its picture
    behind the notes, made over `chart_labels.pitch_rows`; None for plain paper. score: gives the
    engraved pages; asked last, so that it may be drawn elsewhere meanwhile. beside: relative
    link and label of other files of the take that lie beside the page.
    """
    take = view.take
    stretch = keyboard_picture.stretch_of(
        midi for voicing in take.voicings for midi in voicing.pitches
    )
    with_pictures()
    script = "".join(asset(name) for name in SCRIPTS)
    beats_title, beats_head, beats = beat_rows(view)
    drawn = chart.bars(view)
    parts = ladder_parts(take, rows(view, stretch))
    ladder = _without_margins(filled("ladder.html", parts=parts, stretch=stretch))
    return filled(
        "page.html",
        title=title(take),
        facts=facts(view),
        policy=POLICY.format(hash=_hash(script)),
        css=Markup(asset("page.css")),
        js=Markup(script),
        audio=audio,
        behind=behind,
        keys=keyboard_picture.key_paths(stretch),
        notes=_notes(take),
        roots=Markup(roots_json(take)),
        piano=Markup(piano_json()) if take.notes else None,
        played=page_top.played(take) if take.voicings else None,
        landed=page_top.landed(view),
        next=page_top.next_step(view),
        summary=_in_print(details(view)),
        chart=filled("chart.html", parts=chart.chart_parts(drawn), behind=behind),
        grid=_grid(take),
        is_free=any(bar.out_of_time for bar in drawn),
        not_playing=not_playing_words(take),
        rhythm=_in_print(rhythm_sentences(view)),
        bar_rhythms=take.rhythm.bars,
        rates=rate_rows(view),
        by_key=key_rows(view),
        leaning=leaning(view),
        missed=missed_rows(view),
        ladder=ladder if take.voicings else "",
        list_rows=LIST_ROWS,
        choices=choices(take),
        beside=beside,
        shapes=shape_rows(view, vocabulary(take)),
        left_out=f"{len(view.unsure)} unsure" if view.unsure else "",
        beats_title=beats_title,
        beats_head=beats_head,
        beats=beats,
        wide_hands=wide_hands(take),
        hands_note=hands_note(take),
        colophon=f"stackline {take.version}; ear: {take.ear}",
        ear_note=ear_note(take),
        score=score_fold(score(take)),
    )


def _without_margins(markup: Markup) -> Markup:
    """Markup without the space that lines begin with: a tenth of a long list."""
    return Markup(re.sub(r"\s*\n\s*", "\n", markup))


def _grid(take: Take) -> Markup | str:
    """The changes as a grid of bars; empty without voicings, or with chords unknown to theory."""
    is_read = all(is_known(voicing.chord.symbol) for voicing in take.voicings)
    bars = grid_in_page.page_bars(take) if is_read else []
    if not bars:
        return ""
    return filled(
        "grid.html", bars=bars, lanes=grid_in_page.lanes(bars), part_bars=grid_in_page.PART_BARS
    )


def _in_print(sentences: Sequence[Sentence]) -> list[list[dict[str, Any]]]:
    """Sentences with real accidentals."""
    return [
        [{"text": prose(piece.text), "index": piece.index} for piece in sentence]
        for sentence in sentences
    ]


@dataclass(frozen=True, kw_only=True)
class ScoreFold:
    """Engraved pages to show at once, and those to fold away under a label."""

    shown: tuple[Markup, ...]
    folded: tuple[Markup, ...]

    @property
    def fold_label(self) -> str:
        """Which pages are folded: ``Pages 2 to 9``."""
        first, last = len(self.shown) + 1, len(self.shown) + len(self.folded)
        return f"Pages {first} to {last}" if last > first else f"Page {first}"


def score_fold(pages: Sequence[str]) -> ScoreFold | None:
    """Two pages are shown as they are, of more the first; None where there is no page."""
    if not pages:
        return None
    drawings = tuple(Markup(_NAMESPACE.sub("", page)) for page in pages)
    shown = len(drawings) if len(drawings) <= UNFOLDED_PAGES else 1
    return ScoreFold(shown=drawings[:shown], folded=drawings[shown:])


def _notes(take: Take) -> Markup:
    """What the page plays when it plays the notes: onset, length, pitch, velocity; numbers only."""
    rows = [
        [round(n.onset_s, 3), round(n.offset_s - n.onset_s, 3), n.midi, n.velocity]
        for n in take.notes
    ]
    return Markup(json.dumps(rows, separators=(",", ":")))


@cache
def with_pictures() -> None:
    """Give the templates the sizes of the drawings."""
    environment(HERE).globals.update(
        top_h=keyboard_picture.TOP_H,
        white_h=keyboard_picture.WHITE_H,
        keyboard_h=keyboard_picture.KEYBOARD_H,
        hands_y=keyboard_picture.TOP_H + keyboard_picture.WHITE_H + 4,
        lines_h=keyboard_picture.LINES_H,
        bar_w=chart_slots.BAR_W,
        bar_h=chart_labels.BAR_H,
        roll_h=chart_labels.ROLL_H,
        symbol_h=chart_labels.SYMBOL_H,
    )


def _hash(script: str) -> str:
    """What a content policy calls an inline script that may run (CSP level 2)."""
    digest = hashlib.sha256(script.encode("utf-8")).digest()
    return f"sha256-{base64.b64encode(digest).decode('ascii')}"
