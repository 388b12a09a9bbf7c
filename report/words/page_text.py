"""Sentences and small texts of the page, with the real accidental signs.

Running text goes through `prose`, which changes only words that are musical (``Ab13``, ``b9``) and
leaves English alone; symbols, degrees and names by themselves go through `with_signs`.
"""

import re

from stackline.report.words.marks import hands
from stackline.report.words.take_view import TakeView
from stackline.shared.take import Take
from stackline.shared.units import clock
from stackline.theory.chords.spelling import with_signs

TENTH = 16  # semitones, a major tenth: beyond it few hands reach (common practice)
_WORD = re.compile(r"\S+")
_MUSICAL = re.compile(r"\d|^\W*[A-G](bb?|##?)(\W|$|m|sus|dim|aug|alt|add)")


def prose(text: str) -> str:
    """A sentence with real accidentals in its musical words."""
    return fractions(_WORD.sub(lambda word: _signed_word(word[0]), text))


def _signed_word(word: str) -> str:
    return with_signs(word) if _MUSICAL.search(word) else word


def fractions(place: str) -> str:
    """Thirds of a beat as one sign: ``2+2/3`` as 2 and the sign for two thirds."""
    return place.replace("+1/3", "\u2153").replace("+2/3", "\u2154")


def facts(view: TakeView) -> str:
    """One line under the title: length, tempo and meter, tuning."""
    take, grid = view.take, view.take.grid
    parts = [clock(take.source.duration_s)]
    if grid.tempo_bpm:
        perhaps = "perhaps " if grid.is_uncertain else ""
        source = {"heard": "", "hint": " (as given)", "assumed": " (assumed)"}[grid.source]
        parts.append(
            f"{perhaps}{grid.tempo_bpm:.0f} beats a minute, {grid.beats_per_bar} to the bar{source}"
        )
        if view.places.swung:
            parts.append("swung")
    else:
        parts.append("no steady beat")
    if abs(take.tuning_cents) >= 1:
        way = "sharp" if take.tuning_cents > 0 else "flat"
        cents = f"{abs(take.tuning_cents):.0f}"
        parts.append(f"tuned {cents} cent{'s' * (cents != '1')} {way} of A = 440 Hz")
    return " \u00b7 ".join(parts)


def wide_hands(take: Take) -> str:
    """A sentence on hands that span more than a tenth; empty where none does."""
    wide = sum(
        any(hand and hand[-1].midi - hand[0].midi > TENTH for hand in hands(voicing))
        for voicing in take.voicings
    )
    if not wide:
        return ""
    some = "One voicing asks" if wide == 1 else f"{wide} voicings ask"
    return f"{some} one hand for more than a tenth."


def hands_note(take: Take) -> str:
    """How far the split between the hands can be trusted."""
    if not take.voicings:
        return "Play a little louder or nearer to the microphone if notes were missed."
    return (
        "Which hand plays what is a guess from the notes: a recording does not show hands. "
        "A voicing marked with ? is one to check by ear before you practise it."
    )


def ear_note(take: Take) -> str:
    """What to know about notes that this ear heard; empty for the piano ear."""
    if take.ear.startswith("general"):
        return (
            "The general ear hears pitches, not keys. Of an organ take the pitch classes from "
            "here, not the octaves: a 16' stop sounds an octave below its keys."
        )
    if take.ear.startswith("large"):
        return "The large ear gives no chances: every voicing is marked as one to check."
    return ""
