"""A drill as a page: the keys to play, and its notes with count-in, click and tempo.

The page plays; it does not listen, and says nothing about what landed. Times are beats from the
count-in, so that the tempo can be chosen while practising.
"""

from typing import Any

from stackline.practice.drills.drill import Drill, Struck
from stackline.practice.drills.drill_text import CARE, hands
from stackline.practice.targets.numerals import key_name
from stackline.practice.written.page_frame import Sound, Sounds, page
from stackline.report.words.marks import one_line

HELD = 0.95  # of its length, so that a chord struck again is heard again; ours


def render(drill: Drill) -> str:
    """The page as HTML."""
    sounds = Sounds()
    struck = drill.struck()
    whole = sounds.add(_sound(drill, struck, 0, drill.beats))
    rows = [_row(drill, place, struck, sounds) for place in range(len(drill.keys))]
    beats = "beats" if drill.parts == 2 else "dotted quarters"
    cautions = dict.fromkeys(
        f"{key_name(placed.key, minor=drill.target.minor)}, {words}"
        for placed in drill.keys
        for words in placed.cautions
    )
    return page(
        "drill.html",
        sounds,
        drill.tempo_bpm,
        name=one_line(drill.target.name),
        facts=f"{drill.meter}, {drill.bars_per_key} bars a key, tempo in {beats} a minute",
        answer=drill.answer,
        whole=whole,
        heads=[
            {"name": one.name(), "stack": " ".join(map(str, one.degrees))}
            for one in drill.target.chords
        ],
        rows=rows,
        cautions=list(cautions),
        care=CARE,
    )


def _row(drill: Drill, place: int, struck: tuple[Struck, ...], sounds: Sounds) -> dict[str, Any]:
    """One key: its chords with their notes, and how it sounds after a bar of count-in."""
    placed = drill.keys[place]
    here = tuple(one for one in struck if one.key == place)
    start = drill.key_start(place) - drill.count_in * drill.beats_per_bar
    bars = drill.count_in + drill.bars_per_key
    return {
        "id": f"key-{place}",
        "key": key_name(placed.key, minor=drill.target.minor),
        "sound": sounds.add(_sound(drill, here, start, bars * drill.beats_per_bar)),
        "chords": [
            {
                "symbol": one.chord.symbol(placed.key).text,
                "notes": hands(one.chord, placed.key, one.pitches),
            }
            for one in here
        ],
    }


def _sound(drill: Drill, struck: tuple[Struck, ...], start: int, beats: int) -> Sound:
    """Some voicings from a beat on, with a click on every beat."""
    lit = {one.key: float(one.start - start) for one in reversed(struck)}
    return Sound(
        notes=tuple(
            (float(one.start - start), float(one.beats) * HELD, pitch)
            for one in struck
            for pitch in one.pitches
        ),
        is_in_beats=True,
        clicks=tuple((float(i), (start + i) % drill.beats_per_bar == 0) for i in range(beats)),
        rows=tuple((at, f"key-{place}") for place, at in sorted(lit.items())),
    )
