"""One page over several takes: a row each, with the way to its study sheet.

The same paper as the sheets, no script, no network. Rates stand with what they are
counted of; the last row sums up all takes.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import quote

from markupsafe import Markup

from stackline.report.html import asset, filled
from stackline.report.words.summary import title
from stackline.report.words.take_view import TakeView
from stackline.shared.take import Take
from stackline.shared.units import clock
from stackline.theory.chords.spelling import with_signs

POLICY = "default-src 'none'; style-src 'unsafe-inline'"
ROOTS = 4  # roots listed before the rest is left out


@dataclass(frozen=True, kw_only=True)
class IndexRow:
    """One take in a line; `link` is a relative address, empty for the sum."""

    name: str
    link: str
    length: str
    tempo: str
    voicings: int
    unsure: int
    landed: int
    due: int
    into: str


def render(takes: Sequence[tuple[Take, str]]) -> str:
    """The page over takes and the file names of their sheets, which lie beside it."""
    rows = [_row(TakeView(take), file_name) for take, file_name in takes]
    return filled(
        "index.html",
        policy=POLICY,
        css=Markup(asset("page.css")),
        rows=rows,
        total=_total([take for take, _ in takes], rows) if len(rows) > 1 else None,
    )


def _row(view: TakeView, file_name: str) -> IndexRow:
    take, counted = view.take, view.tally
    by_count = sorted(counted.by_key.items(), key=lambda item: -item[1].due)
    tempo = f"{take.grid.tempo_bpm:.0f}" if take.grid.tempo_bpm else "\u2013"
    return IndexRow(
        name=title(take),
        link=quote(file_name),
        length=clock(take.source.duration_s),
        tempo=tempo,
        voicings=len(take.voicings),
        unsure=len(view.unsure),
        landed=counted.overall.landed,
        due=counted.overall.due,
        into=", ".join(with_signs(root) for root, _ in by_count[:ROOTS]),
    )


def _total(takes: Sequence[Take], rows: Sequence[IndexRow]) -> IndexRow:
    return IndexRow(
        name="all",
        link="",
        length=clock(sum(take.source.duration_s for take in takes)),
        tempo="",
        voicings=sum(row.voicings for row in rows),
        unsure=sum(row.unsure for row in rows),
        landed=sum(row.landed for row in rows),
        due=sum(row.due for row in rows),
        into="",
    )
