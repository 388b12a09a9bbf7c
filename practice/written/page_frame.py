"""Pages of practice: the type and paper of a take's page, and a player for what they write.

A page is one file: style, script and the piano are inside, and its content policy forbids all
else. It turns dark with the reader's setting and prints in black. Everything from outside is
escaped. What can be heard are written notes on the page's piano, no recording: a `Sound` and a
button that names it. A page without sounds has neither player nor script.
"""

import base64
import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from typing import Any

from markupsafe import Markup

from stackline.report.html import asset, filled
from stackline.report.sound.page_piano import piano_json

PACKAGE = "stackline.practice.written"
POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src '{script}'; {media}base-uri 'none'; "
    "form-action 'none'"
)
TONES = {"solid": "good", "coming": "mid", "not yet": "bad", "not played": "soft"}
SIGNS = {"solid": "\u2713", "coming": "\u223c", "not yet": "\u2715", "not played": "\u00b7"}

Played = tuple[float, float, int]  # start, length, MIDI


@dataclass(frozen=True, kw_only=True)
class Sound:
    """What a button plays. notes: start and length in seconds, or beats; MIDI.

    is_in_beats: times are beats of the tempo in the player. clicks: start, and whether it is the
    first of a bar. rows: start, and the id of what lights up on the page.
    """

    notes: tuple[Played, ...]
    is_in_beats: bool = False
    clicks: tuple[tuple[float, bool], ...] = ()
    rows: tuple[tuple[float, str], ...] = ()


class Sounds:
    """The sounds of a page in the order in which its buttons name them."""

    def __init__(self) -> None:
        self.all: list[Sound] = []

    def add(self, sound: Sound) -> int:
        """The number that a button says."""
        self.all.append(sound)
        return len(self.all) - 1

    def chords(self, rows: Sequence[Sequence[int]], *, each_s: float = 1.2) -> int:
        """Chords one after the other, each as long; MIDI."""
        notes = [
            (i * each_s, each_s * 0.95, int(pitch)) for i, row in enumerate(rows) for pitch in row
        ]
        return self.add(Sound(notes=tuple(notes)))


def page(
    template: str, sounds: Sounds | None = None, tempo: float | None = None, **facts: Any
) -> str:
    """A template of this room, filled in. tempo: what the player begins with, where it has one.

    Of the facts `media` is a directive for the page's policy, such as ``media-src data:;``.
    """
    every = sounds.all if sounds else []
    script = asset("page_piano.js") + own("practice.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return filled(
        template,
        PACKAGE,
        css=Markup(asset("page.css") + own("practice.css")),
        policy=POLICY.format(
            script=f"sha256-{digest}" if every else "none", media=facts.get("media", "")
        ),
        js=Markup(script),
        piano=Markup(piano_json()) if every else "",
        sounds=Markup(json.dumps([_data(one) for one in every], separators=(",", ":")))
        if every
        else "",
        tempo=f"{tempo:g}" if tempo else "",
        **facts,
    )


def _data(sound: Sound) -> dict[str, Any]:
    """Numbers and ids alone; nothing of a name from outside."""
    notes = [[round(at, 3), round(length, 3), midi] for at, length, midi in sound.notes]
    return {
        "notes": notes,
        "beats": sound.is_in_beats,
        "clicks": [[at, first] for at, first in sound.clicks] or None,
        "rows": [[at, place] for at, place in sound.rows] or None,
    }


def own(name: str) -> str:
    """A style or script of this room."""
    return (resources.files(PACKAGE) / "templates" / name).read_text(encoding="utf-8")
