"""Two sets of takes as a page: what each does alone first, then side by side."""

from typing import Any

from stackline.practice.columns import plural
from stackline.practice.comparing.comparison_text import (
    keys,
    move_rows,
    register,
    shape_rows,
    tension_rows,
)
from stackline.practice.comparing.differences import Own, own
from stackline.practice.comparing.vocabulary_used import Used
from stackline.practice.written.page_frame import Sounds, page
from stackline.report.words.marks import one_line
from stackline.shared.units import clock
from stackline.theory.chords.note_names import note_name

SOUNDED_S = 2.0  # of an example; ours


def render(one: Used, other: Used) -> str:
    """The page as HTML."""
    sounds = Sounds()
    only = [
        _only("A", "B", own(one, other), sounds),
        _only("B", "A", own(other, one), sounds),
    ]
    return page(
        "compare.html",
        sounds,
        a=_head(one),
        b=_head(other),
        only=only,
        tables=[
            _table("Shapes", ("Chord", "A plays", "B plays"), shape_rows(one, other)),
            _table("The top line", ("Move", "A", "B"), move_rows(one, other)),
            _table("Tensions on dominants", ("Tension", "A", "landed", "B", "landed"),
                   tension_rows(one, other)),
            _table("Where", ("", "A", "B"), [
                ("usual register", register(one), register(other)),
                ("keys", keys(one), keys(other)),
            ]),
        ],
    )  # fmt: skip


def _head(used: Used) -> dict[str, str]:
    counts = f"{plural(used.takes, 'take')}, {plural(used.voicings, 'voicing')}"
    return {"name": one_line(used.name), "counts": counts}


def _only(name: str, other: str, found: Own, sounds: Sounds) -> dict[str, Any]:
    shapes = [
        {"stack": one.stack, "family": one.family, "count": one.count, "drill": one.drill,
         "symbol": one.example.symbol, "notes": " ".join(map(note_name, one.example.midi)),
         "sound": sounds.chords([one.example.midi], each_s=SOUNDED_S),
         "at": f"{one_line(one.example.take)} {clock(one.example.onset_s)}"}
        for one in found.shapes
    ]  # fmt: skip
    return {"name": name, "other": other, "shapes": shapes,
            "tensions": ", ".join(found.tensions), "tonics": ", ".join(found.keys)}  # fmt: skip


def _table(title: str, heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> dict[str, Any]:
    return {"title": title, "heads": heads, "rows": rows}
