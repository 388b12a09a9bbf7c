"""Two sets of takes side by side, as text and as data for JSON (format 1)."""

from collections import Counter
from typing import Any

from stackline.practice.columns import columns, plural
from stackline.practice.comparing.differences import Own, families_used, own
from stackline.practice.comparing.vocabulary_used import TENSIONS, Used, commonest
from stackline.report.words.marks import one_line
from stackline.shared.units import clock
from stackline.theory.chords.note_names import note_name

MOST_SHAPES = 4  # shapes that are listed (ours)
_MOVES = ("repeat", "step up", "step down", "skip up", "skip down", "leap up", "leap down")


def render(one: Used, other: Used) -> str:
    """As text for the terminal, ending in a newline."""
    parts = [
        f"A: {_head(one)}\nB: {_head(other)}\n",
        columns(("chord", "A plays", "B plays"), shape_rows(one, other)),
        columns(("top line", "A", "B"), move_rows(one, other)),
        columns(("tension on dominants", "A", "landed", "B", "landed"), tension_rows(one, other)),
        columns(("", "A", "B"), [
            ("usual register", register(one), register(other)),
            ("keys", keys(one), keys(other)),
        ]),
        _own("A", own(one, other), "B"),
        _own("B", own(other, one), "A"),
    ]  # fmt: skip
    return "\n".join(part for part in parts if part)


def _head(used: Used) -> str:
    return (
        f"{one_line(used.name)}: {plural(used.takes, 'take')}, {plural(used.voicings, 'voicing')}"
    )


def shape_rows(one: Used, other: Used) -> list[tuple[str, ...]]:
    """The commonest shapes of each kind of chord, side by side."""
    rows: list[tuple[str, ...]] = []
    for family in families_used(one, other):
        left = commonest(one.shapes, family, MOST_SHAPES)
        right = commonest(other.shapes, family, MOST_SHAPES)
        for i in range(max(len(left), len(right))):
            rows.append((family if not i else "", _shape(left, i), _shape(right, i)))
    return rows


def move_rows(one: Used, other: Used) -> list[tuple[str, ...]]:
    """How often the top line repeats, steps, skips and leaps."""
    return [(move, share(one.moves, move), share(other.moves, move)) for move in _MOVES]


def tension_rows(one: Used, other: Used) -> list[tuple[str, ...]]:
    """Each tension that either used: in how many dominants, and how many landed."""
    return [
        (name, of_dominants(one, name), landed(one, name),
         of_dominants(other, name), landed(other, name))
        for name in TENSIONS if one.tensions[name] or other.tensions[name]
    ]  # fmt: skip


def _shape(found: Any, i: int) -> str:
    return f"{found[i][0]} ({found[i][1]})" if i < len(found) else ""


def share(counts: Counter[str], name: str) -> str:
    """A count as a share of all: ``25%``; empty where there is nothing."""
    total = sum(counts.values())
    return f"{counts[name] / total:.0%}" if total else ""


def of_dominants(used: Used, tension: str) -> str:
    """In how many of the dominants a tension sounds."""
    count = used.families["dominant"]
    return f"{used.tensions[tension]} of {count}" if count else "-"


def landed(used: Used, tension: str) -> str:
    """How many of those that were due to resolve did."""
    return f"{used.landed[tension]} of {used.due[tension]}" if used.due[tension] else "-"


def register(used: Used) -> str:
    """From the usual lowest to the usual highest note."""
    span = used.register
    return f"{note_name(span[0])} to {note_name(span[1])}" if span else "-"


def keys(used: Used) -> str:
    """The keys that cadences say, the commonest first."""
    return " ".join(f"{key} {count}" for key, count in used.keys.most_common()) or "-"


def _own(name: str, found: Own, other: str) -> str:
    lines = []
    for shape in found.shapes:
        at = f"{one_line(shape.example.take)} {clock(shape.example.onset_s)}"
        lines.append(f"  {shape.stack} on {shape.family} chords, {shape.count} times: "
                     f"{shape.example.symbol}, {at}\n    {shape.drill}")  # fmt: skip
    if found.tensions:
        lines.append(f"  tensions on dominants: {', '.join(found.tensions)}")
    if found.keys:
        lines.append(f"  keys: {', '.join(found.keys)}")
    return "\n".join([f"What {name} does and {other} never:", *lines]) + "\n" if lines else ""


def to_data(one: Used, other: Used) -> dict[str, Any]:
    """As data for JSON, format 1."""
    return {"format": 1, "a": _data(one, own(one, other)), "b": _data(other, own(other, one))}


def _data(used: Used, only: Own) -> dict[str, Any]:
    return {
        "name": used.name,
        "takes": used.takes,
        "voicings": used.voicings,
        "shapes": [
            {"family": family, "stack": stack, "count": count}
            for (family, stack), count in used.shapes.most_common()
        ],
        "structures": dict(used.structures.most_common()),
        "top_moves": dict(used.moves),
        "tops": [
            {"family": family, "degree": degree, "count": count}
            for (family, degree), count in used.tops.most_common()
        ],
        "dominants": used.families["dominant"],
        "tensions": {
            name: {"count": used.tensions[name], "due": used.due[name],
                   "landed": used.landed[name]}
            for name in TENSIONS
        },
        "register": used.register,
        "keys": dict(used.keys.most_common()),
        "only_here": {
            "shapes": [
                {"family": one.family, "stack": one.stack, "count": one.count,
                 "take": one.example.take, "onset_s": one.example.onset_s,
                 "symbol": one.example.symbol, "midi": list(one.example.midi),
                 "drill": one.drill}
                for one in only.shapes
            ],
            "tensions": list(only.tensions),
            "keys": list(only.keys),
        },
    }  # fmt: skip
