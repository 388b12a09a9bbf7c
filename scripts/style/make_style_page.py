"""Write the style page: every element of the pages in every state, for whoever changes their look.

    python scripts/style/make_style_page.py [style.html]

It is made of the pages' own templates and styles over a made take, so it cannot drift from them; a
test fails where a class of the style is not on it, and compares how it looks. Hover and keyboard
focus are shown by classes of their own, for which the rules of the style are doubled.
"""

import re
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
from markupsafe import Markup

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parents[1]))

from fixtures.played.takes import LISTED, make_take  # noqa: E402
from stackline import Note, read_notes  # noqa: E402
from stackline.report.contents import chart, chart_labels, grid_in_page, keyboard_picture  # noqa: E402
from stackline.report.contents.keyboard_picture import Bracket, Line, Marker  # noqa: E402
from stackline.report.contents.ladder_parts import ladder_parts  # noqa: E402
from stackline.report.contents.page_rows import rows  # noqa: E402
from stackline.report.html import HERE as REPORT  # noqa: E402
from stackline.report.html import asset, environment, filled  # noqa: E402
from stackline.report.notation.engraving import engrave  # noqa: E402
from stackline.report.page.page import with_pictures  # noqa: E402
from stackline.report.sound.spectrogram import (  # noqa: E402
    COLUMNS_PER_S,
    HIGHEST,
    LOWEST,
    Spectrogram,
    Strengths,
    picture,
)
from stackline.report.words.take_view import TakeView  # noqa: E402
from stackline.shared.take import Take  # noqa: E402

SEED = 75_011
RUNGS, BARS, CELLS = 5, 4, 8
BUTTONS = (("", "button"), ("is-hover", "under the mouse"), ("is-focus", "with the keyboard on it"),
           ("pressed", "pressed"), ("disabled", "disabled"))  # fmt: skip
SAMPLES = ("guide", "tension", "plain", "held", "top", "stay", "guideline", "missed")


def made() -> Take:
    """A made take with something unsure in it: every ninth note was hardly heard."""
    notes = [
        Note(onset_s=one.onset_s, offset_s=one.offset_s, midi=one.midi, velocity=one.velocity,
             confidence=0.55 if i % 9 == 4 else 0.97)
        for i, one in enumerate(make_take(SEED, LISTED, duration_s=30.0).notes)
    ]  # fmt: skip
    return read_notes(notes, name="style.wav")


def forced_states(css: str) -> str:
    """Rules for hover and focus once more, for the classes is-hover and is-focus."""
    found = re.findall(r"[^{}]*:(?:hover|focus-visible|focus)[^{}]*\{[^{}]*\}", css)
    again = "\n".join(found).replace(":hover", ".is-hover")
    return again.replace(":focus-visible", ".is-focus").replace(":focus", ".is-focus")


def marker(x: float, role: str, **look: bool) -> Marker:
    """A marker on white keys."""
    plain = {"held": False, "top": False, "unsure": False, "black": False}
    degree = {"guide": "b7", "tension": "#11", "plain": "5"}[role]
    return Marker(x=x, y=98.0, width=19.0, degree=degree, name="", role=role, **(plain | look))  # type: ignore[arg-type]


def page() -> str:
    """The whole page."""
    take = made()
    view = TakeView(take)
    with_pictures()
    wide = keyboard_picture.stretch_of(m for v in take.voicings for m in v.pitches)
    css = asset("page.css")
    found = ladder_parts(take, rows(view, wide))
    rungs = [rung for part in found for rung in part.rungs]
    looks = sorted(rungs, key=lambda rung: (rung.row.doubt == "", -rung.count))
    chosen = [*looks[:2], *[one for one in rungs if not one.row.doubt][: RUNGS - 2]]
    ladder = filled("ladder.html", parts=[replace(found[0], heading="", rungs=tuple(chosen))],
                    stretch=wide)  # fmt: skip
    roles = ("guide", "tension", "plain")
    states = ({}, {"held": True}, {"unsure": True}, {"top": True})
    template = environment(REPORT).from_string(
        (HERE / "style_page.html").read_text(encoding="utf-8")
    )
    bars = grid_in_page.page_bars(take)[:CELLS]
    return template.render(
        css=Markup(css),
        states=Markup(forced_states(css)),
        names=list(dict.fromkeys(re.findall(r"(--[\w-]+):\s*#", asset("tokens.css")))),
        keys=keyboard_picture.key_paths(wide),
        behind=sound_of(view),
        stretch=wide,
        grid=filled("grid.html", bars=bars, lanes=grid_in_page.lanes(bars), part_bars=CELLS - 2),
        bars=special_bars(chart.bars(view)[:BARS]),
        markers=[[marker(50 + 80 * i, role, **look) for i, role in enumerate(roles)]
                 for look in states],
        brackets=[Bracket(left=43, right=137, letter="L"),
                  Bracket(left=203, right=217, letter="R")],
        lines=[Line(x1=30 + 45 * i, y1=0, x2=45 + 45 * i, y2=40, kind=kind) for i, kind in
               enumerate(("stay", "guide", "move", "enter", "leave", "missed"))],
        samples=SAMPLES,
        ladder=lit(Markup(ladder)),
        score=Markup(engrave(take)[0].replace('class="chord voicing-1"', 'class="chord at"')),
        buttons=BUTTONS,
    )  # fmt: skip


def sound_of(view: TakeView) -> Spectrogram:
    """A picture behind the notes, as if each semitone sounded while its notes do."""
    levels = np.zeros((int(view.take.source.duration_s * COLUMNS_PER_S), HIGHEST - LOWEST + 1))
    for one in view.take.notes:
        start, end = int(one.onset_s * COLUMNS_PER_S), int(one.offset_s * COLUMNS_PER_S)
        levels[start:end, one.midi - LOWEST] = np.geomspace(1, 0.1, end - start)
    return picture(
        Strengths(levels=levels, columns_per_s=COLUMNS_PER_S), *chart_labels.pitch_rows(view.take)
    )


def lit(ladder: Markup) -> Markup:
    """The second rung as if it sounded."""
    parts = ladder.split('class="rung')
    return Markup('class="rung'.join([*parts[:2], " at" + parts[2], *parts[3:]]))


def special_bars(bars: tuple[chart.Bar, ...]) -> list[chart.Bar]:
    """A few bars of the chart, each with one more thing that may stand in it."""
    first, second, third, *rest = bars
    label = chart_labels.Label(x=150, y=150, text="b9", index=0)
    line = chart_labels.Label(
        x=20, y=chart_labels.BAR_H + chart_labels.LINE_ROWS[0], text="b13", index=0, unsure=True
    )
    boxes = [replace(one, of_line=True, unsure=i % 2 == 0) for i, one in enumerate(first.boxes)]
    return [
        replace(first, missed=(label,), again="Dm7", symbols=first.symbols[-1:]),
        replace(second, strips=(chart.Strip(x=20, width=60, name="talk"),)),
        replace(third, out_of_time=True, beats=(), title="0:12"),
        replace(
            first, boxes=tuple(boxes), line=(line,), height=chart_labels.BAR_H + chart_labels.LINE_H
        ),
        *rest,
    ]


def main() -> None:
    """Write the page where it was asked for."""
    path = Path(sys.argv[1] if len(sys.argv) > 1 else "style.html")
    path.write_text(page(), encoding="utf-8")
    print(f"wrote {path}")


if __name__ == "__main__":
    main()
