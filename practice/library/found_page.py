"""Hits of a search as a page; each can be heard where its sound is kept."""

from stackline.practice.columns import plural
from stackline.practice.library.kept_sound import of_take
from stackline.practice.library.searching import Found, Hit
from stackline.practice.library.store import Store
from stackline.practice.targets.numerals import key_name
from stackline.practice.written.page_frame import page
from stackline.report.sound.sound_pieces import piece
from stackline.report.words.marks import one_line
from stackline.shared.units import clock

SURE = 0.8  # below this a hit has its question mark, as on the terminal


def render(found: Found, store: Store, asked: str) -> str:
    """The page as HTML. asked: what was looked for, in words."""
    return page(
        "found.html",
        media="media-src data:; ",  # what the page may play: its own sound
        asked=asked,
        counts=f"{plural(found.voicings, 'voicing')} in {plural(found.takes, 'take')}",
        shown=len(found.hits),
        total=found.voicings,
        rows=[_row(hit, store) for hit in found.hits],
    )


def _row(hit: Hit, store: Store) -> dict[str, str]:
    kept = of_take(store, hit.take_id)
    sound = piece(*kept, hit.onset_s) if kept else None
    return {
        "place": f"{hit.take_id}:{hit.place}",
        "take": one_line(hit.take),
        "played_on": hit.played_on,
        "at": clock(hit.onset_s),
        "symbol": hit.symbol + (" ?" if hit.confidence < SURE else ""),
        "stack": hit.stack,
        "key": "" if hit.key is None else key_name(hit.key),
        "sound": sound.uri if sound else "",
    }
