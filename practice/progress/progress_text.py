"""Progress on a target as text and as data: the twelve keys, the weeks, what to do next."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from stackline.practice.columns import columns
from stackline.practice.library.store import Store
from stackline.practice.progress.advice import Advice, advise
from stackline.practice.progress.due import due_dates
from stackline.practice.progress.habits import Habits
from stackline.practice.progress.twelve_keys import KeyHistory, twelve_keys
from stackline.practice.progress.weeks import Week, compared, weeks
from stackline.practice.targets.targets import Target
from stackline.practice.written.review_data import target_data
from stackline.report.words.marks import one_line

BAR = 20  # characters of a full bar in the time line


@dataclass(frozen=True, kw_only=True)
class Progress:
    """Everything that is known of one target. due: of each key that was played, when it is due."""

    target: Target
    due: Mapping[int, datetime.date]
    keys: tuple[KeyHistory, ...]
    line: tuple[Week, ...]
    advice: Advice


def progress_on(store: Store, target: Target) -> Progress:
    """Gather it from the library."""
    keys = twelve_keys(store, target.name)
    dates = due_dates(store, datetime.date.today())
    return Progress(
        target=target,
        due={one.key: one.day for one in dates if one.target == target.name},
        keys=keys,
        line=weeks(store, target.name),
        advice=advise(store, target, keys),
    )


def render(progress: Progress) -> str:
    """As text for the terminal, ending in a newline."""
    target = progress.target
    head = f"{one_line(target.name)}\n{'  '.join(chord.name() for chord in target.chords)}\n"
    keys = columns(
        ("key", "verdict", "passes", "clean", "landed", "best clean", "last played", "due"),
        [(*_key_row(one), due_text(progress, one.key)) for one in progress.keys],
    )
    line = columns(
        ("week of", "passes", "clean", "landed", "keys", "tempo", "clean passes"),
        [_week_row(one) for one in progress.line],
    )
    avoided = [f"{one.key_name} ({one.why})" for one in progress.advice.avoided]
    parts = [head, keys]
    if progress.line:
        parts += [line, compared(progress.line) + "\n"]
    if avoided:
        parts.append(f"Avoided: {', '.join(avoided)}\n")
    parts.append(f"Next: {progress.advice.next} {progress.advice.why}\n")
    return "\n".join(parts)


def due_text(progress: Progress, key: int) -> str:
    """The date on which a key is due again, ISO; a hyphen for one that was never played."""
    return progress.due[key].isoformat() if key in progress.due else "-"


def _key_row(one: KeyHistory) -> tuple[str, ...]:
    return (
        one.key_name,
        one.verdict,
        str(one.passes or "-"),
        str(one.clean) if one.passes else "-",
        f"{one.landed} of {one.due}" if one.due else "-",
        f"{one.best_bpm:.0f}" if one.best_bpm else "-",
        one.last_played or "-",
    )


def _week_row(one: Week) -> tuple[str, ...]:
    rate = one.clean_rate
    return (
        one.monday,
        str(one.passes or "-"),
        str(one.clean) if one.passes else "-",
        f"{one.landed} of {one.due}" if one.due else "-",
        str(one.keys or "-"),
        f"{one.mean_bpm:.0f}" if one.mean_bpm else "-",
        "#" * round(rate * BAR) if rate is not None else "",
    )


def to_data(found: Sequence[Progress], used: Habits) -> dict[str, Any]:
    """As data for JSON, format 1."""
    return {
        "format": 1,
        "targets": [_target_data(one) for one in found],
        "habits": {
            "dominants": used.dominants,
            "tensions": dict(used.tensions),
            "avoided_tensions": list(used.avoided),
            "structures": dict(used.structures),
        },
    }


def _target_data(progress: Progress) -> dict[str, Any]:
    return {
        "target": target_data(progress.target),
        "keys": [
            {
                **asdict(one),
                "key": one.key_name,
                "landed_rate": one.landed_rate,
                "due_on": progress.due[one.key].isoformat() if one.key in progress.due else None,
            }
            for one in progress.keys
        ],
        "weeks": [
            {**asdict(one), "clean_rate": one.clean_rate, "landed_rate": one.landed_rate}
            for one in progress.line
        ],
        "avoided": [asdict(one) for one in progress.advice.avoided],
        "next": progress.advice.next,
        "why": progress.advice.why,
    }
