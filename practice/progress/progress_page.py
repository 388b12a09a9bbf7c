"""Progress as a page: for each target its twelve keys, its weeks, and what to do next."""

from collections.abc import Sequence
from typing import Any

from stackline.practice.columns import plural
from stackline.practice.drills.voicing_choice import voiced
from stackline.practice.progress.habits import Habits, in_words
from stackline.practice.progress.progress_text import Progress, due_text
from stackline.practice.progress.twelve_keys import KeyHistory
from stackline.practice.progress.weeks import Week, compared
from stackline.practice.targets.placing import best_places
from stackline.practice.written.page_frame import SIGNS, TONES, Sounds, page

WEEK_WIDTH, TALLEST = 44, 60  # of a picture, in drawing units
MOST_WEEKS = 26  # half a year


def render(found: Sequence[Progress], used: Habits) -> str:
    """The page as HTML."""
    heading = "The twelve keys" if len(found) == 1 else f"{len(found)} targets"
    sounds = Sounds()
    return page("progress.html", sounds, heading=heading,
                targets=[_target(one, sounds) for one in found],
                habits=in_words(used).splitlines())  # fmt: skip


def _target(one: Progress, sounds: Sounds) -> dict[str, Any]:
    """A target with its tables, and how it goes in the key that was played least."""
    key = min(one.keys, key=lambda each: each.passes)
    placed = best_places(voiced(one.target), key.key)
    line = one.line[-MOST_WEEKS:]
    return {
        "name": one.target.name,
        "chords": [chord.name() for chord in one.target.chords],
        "sound": sounds.chords(placed.pitches),
        "sound_key": key.key_name,
        "next": one.advice.next,
        "why": one.advice.why,
        "avoided": ", ".join(f"{key.key_name} ({key.why})" for key in one.advice.avoided),
        "key_rows": [_key(key) | {"due": due_text(one, key.key)} for key in one.keys],
        "weeks": _weeks(line),
        "width": WEEK_WIDTH * max(len(line), 6),
        "spoken": "; ".join(_words(week) for week in line),
        "compared": compared(one.line) if one.line else "",
    }


def _key(one: KeyHistory) -> dict[str, Any]:
    return {
        "key_name": one.key_name,
        "verdict": one.verdict,
        "tone": TONES[one.verdict],
        "sign": SIGNS[one.verdict],
        "passes": one.passes,
        "clean": one.clean,
        "landed": f"{one.landed} of {one.due}" if one.due else "",
        "best": f"{one.best_bpm:.0f}" if one.best_bpm else "",
        "last_played": one.last_played,
    }


def _weeks(line: Sequence[Week]) -> list[dict[str, Any]]:
    most = max((week.passes for week in line), default=1) or 1
    return [
        {
            "x": WEEK_WIDTH * i + 4,
            "passes": week.passes,
            "tall": round(TALLEST * week.passes / most, 1),
            "part": round(TALLEST * week.clean / most, 1),
            "share": f"{week.clean_rate or 0:.0%}",
            "label": week.monday[5:] if i % 2 == 0 or len(line) < 8 else "",
            "words": _words(week),
        }
        for i, week in enumerate(line)
    ]


def _words(week: Week) -> str:
    if not week.passes:
        return f"week of {week.monday}: not played"
    passes = plural(week.passes, "pass", "passes")
    return f"week of {week.monday}: {week.clean} of {passes} clean, {plural(week.keys, 'key')}"
