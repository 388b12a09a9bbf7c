"""Ways one after another as one drill, to be heard as MIDI and seen as a page."""

from collections.abc import Sequence
from dataclasses import replace

from stackline.practice.drills.drill import DEFAULT_BPM, Drill, in_meter
from stackline.practice.suggested.suggestions import Suggestion
from stackline.practice.targets.placing import Placed
from stackline.practice.targets.targets import Target

BEATS_PER_BAR = 4  # common practice


def as_drill(ways: Sequence[Suggestion], name: str, tempo_bpm: float | None = None) -> Drill:
    """All ways in their order, each in its key as it was placed; at least one."""
    targets = [in_meter(way.target, BEATS_PER_BAR) for way in ways]
    chords = tuple(chord for one in targets for chord in one.chords)
    pitches = tuple(row for way in ways for row in way.pitches)
    whole = Target(name=name, chords=chords)
    return Drill(
        target=replace(whole, tempo_bpm=tempo_bpm),
        keys=(Placed(key=ways[0].key, pitches=pitches, cautions=()),),
        tempo_bpm=tempo_bpm or DEFAULT_BPM,
        beats_per_bar=BEATS_PER_BAR,
        count_in=0,
        answer=False,
    )
