"""How else one chord of a take could have been played where it stands, as text and as data."""

from collections.abc import Sequence
from typing import Any

from stackline.report.words.places import Places
from stackline.shared.complaint import Complaint
from stackline.shared.harmony import Voicing
from stackline.shared.take import Take
from stackline.theory.explain import explain_motion
from stackline.theory.ways.other_ways import OtherWay

NEAR_S = 2.0  # a chord that far from the place is still meant (ours)


def voicing_at(take: Take, at_s: float) -> int:
    """The index of the voicing that a place means: the one that sounds there, or the nearest.

    Raises Complaint where none is near.
    """
    onsets = [voicing.attack.onset_s for voicing in take.voicings]
    if not onsets:
        raise Complaint(f"{take.source.name} has no voicings")
    begun = [i for i, onset in enumerate(onsets) if onset <= at_s + 0.05]
    nearest = begun[-1] if begun else 0
    if abs(onsets[nearest] - at_s) > NEAR_S and not _sounds(take.voicings[nearest], at_s):
        raise Complaint(f"no voicing of {take.source.name} is near {at_s:g} s")
    return nearest


def _sounds(voicing: Voicing, at_s: float) -> bool:
    return any(note.offset_s >= at_s for note in voicing.attack.struck)


def render(take: Take, index: int, ways: Sequence[OtherWay]) -> str:
    """What was played, and how else it could have been; ends in a newline."""
    here = take.voicings[index]
    head = f"{Places(take).words(here.attack)}: {_line(here)}"
    if not ways:
        return f"{head}\nno other voicing of this chord lies within reach\n"
    blocks = [
        "\n".join(
            [
                f"{way.why}, a voice moves {way.moved:.1f} half steps on average",
                f"  {_line(way.voicing)}",
                *(f"  {words}" for words in _moves(take, index, way)),
            ]
        )
        for way in ways
    ]
    return "\n\n".join([head, *blocks]) + "\n"


def to_data(take: Take, index: int, ways: Sequence[OtherWay]) -> dict[str, Any]:
    """The same as plain data."""
    return {
        "place": Places(take).short(take.voicings[index].attack),
        "played": _facts(take.voicings[index]),
        "ways": [
            {"why": way.why, "moved": round(way.moved, 3)}
            | _facts(way.voicing)
            | {"motion": _moves(take, index, way)}
            for way in ways
        ],
    }


def _facts(voicing: Voicing) -> dict[str, Any]:
    return {
        "symbol": voicing.chord.symbol.text,
        "stack": [str(degree) for degree in voicing.stack],
        "notes": [tone.name for tone in voicing.tones],
        "pitches": list(voicing.pitches),
        "left_hand": sum(tone.hand == "left" for tone in voicing.tones),
        "structure": voicing.structures[0],
    }


def _line(voicing: Voicing) -> str:
    hands = [
        " ".join(tone.name for tone in voicing.tones if tone.hand == hand)
        for hand in ("left", "right")
    ]
    stack = " ".join(map(str, voicing.stack))
    notes = " / ".join(hand for hand in hands if hand)
    return f"{voicing.chord.symbol.text}  {stack}  {notes}  ({voicing.structures[0]})"


def _moves(take: Take, index: int, way: OtherWay) -> list[str]:
    """The way from the chord before and to the one after, in words."""
    first = max(0, index - 1)
    row = [*take.voicings[first:index], way.voicing, *take.voicings[index + 1 : index + 2]]
    return [
        f"to {row[motion.to_index].chord.symbol.text}: {explain_motion(motion, row)}"
        for motion in way.motions
    ]
