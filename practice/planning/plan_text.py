"""A day's plan as text and as data."""

from typing import Any

from stackline.practice.columns import columns, plural
from stackline.practice.drills.drill_text import hands
from stackline.practice.planning.plan import REST_MINUTES, WORK_MINUTES, Item, Plan
from stackline.practice.targets.numerals import key_name
from stackline.report.words.marks import one_line

CARE = (
    f"Rest a minute after every {WORK_MINUTES:.0f}: shake your hands out. What hurts is not "
    "practised through; stop for today."
)
SOONEST = 5  # coming dates that are named


def render(plan: Plan) -> str:
    """The plan for the terminal, ending in a newline."""
    if not plan.items:
        return f"Nothing is due on {plan.day.isoformat()}. {_coming(plan)}\n"
    table = columns(
        ("", "target", "key", "tempo", "why", "first chord"),
        [_row(i, one) for i, one in enumerate(plan.items, 1)],
    )
    head = f"{plan.day.isoformat()}: {plural(len(plan.items), 'thing')}, about " + (
        f"{plan.minutes:.0f} minutes with rests\n"
    )
    left = (
        f"{plural(plan.left, 'more')} would not fit; give --minutes, or leave it for tomorrow.\n"
        if plan.left
        else ""
    ).replace("mores", "more")
    return "\n".join([head, table, left + CARE, _coming(plan)]).rstrip() + "\n"


def _row(i: int, one: Item) -> tuple[str, ...]:
    placed = one.drill.keys[0]
    first = one.drill.target.chords[0]
    return (
        str(i),
        one_line(one.target.name),
        key_name(one.key, minor=one.target.minor),
        f"{one.drill.tempo_bpm:.0f}",
        one.why,
        f"{first.symbol(one.key).text}: {hands(first, one.key, placed.pitches[0])}",
    )


def _coming(plan: Plan) -> str:
    soon = [
        f"{one.day.isoformat()} {one_line(one.target)} in {key_name(one.key)}"
        for one in plan.coming[:SOONEST]
    ]
    return f"Next due: {'; '.join(soon)}." if soon else ""


def to_data(plan: Plan) -> dict[str, Any]:
    """The plan for JSON, format 1."""
    return {
        "format": 1,
        "day": plan.day.isoformat(),
        "minutes": round(plan.minutes, 1),
        "rest_after_minutes": WORK_MINUTES,
        "rest_minutes": REST_MINUTES,
        "left_for_another_day": plan.left,
        "items": [
            {
                "target": one.target.name,
                "key": key_name(one.key, minor=one.target.minor),
                "why": one.why,
                "tempo_bpm": one.drill.tempo_bpm,
                "minutes": round(one.minutes, 2),
                "symbols": list(one.target.symbols(one.key)),
            }
            for one in plan.items
        ],
        "coming": [
            {"target": one.target, "key": key_name(one.key), "day": one.day.isoformat(),
             "spacing_days": one.spacing_days}
            for one in plan.coming
        ],
    }  # fmt: skip
