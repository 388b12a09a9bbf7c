"""How a doubt, a stack and an outcome are written, the same in every report.

Texts here are ASCII; the page puts the real accidentals in. A voicing is *unsure* where
the chance that its notes, or its name, are right falls below `UNSURE_BELOW`; the mark is
a sign and a word, never a colour alone.
"""

from collections.abc import Sequence

from stackline.shared.harmony import Motion, Resolution, Tone, Voicing
from stackline.shared.notes import Note
from stackline.shared.take import Take
from stackline.theory.chords.spelling import plain_name, with_octave
from stackline.theory.motion.tally import Count
from stackline.theory.stacks.line_over import LineNote

UNSURE_BELOW = 0.9  # sure means 0.9 and more in every bench too; see bench/README.md
UNSURE_SIGN = "?"
MISSED_SIGN = "\u2717"


def doubts(voicing: Voicing) -> tuple[str, ...]:
    """What is unsure about a voicing: ``notes``, ``name``, both or nothing."""
    found = []
    if voicing.confidence < UNSURE_BELOW:
        found.append("notes")
    if voicing.chord.confidence < UNSURE_BELOW:
        found.append("name")
    return tuple(found)


def doubt_words(voicing: Voicing) -> str:
    """``unsure: notes, name``, or nothing where there is no doubt."""
    found = doubts(voicing)
    return f"unsure: {', '.join(found)}" if found else ""


def percent(chance: float) -> str:
    """A chance as whole percent, never rounded to certainty: 0.996 is ``99%``, 0.004 ``<1%``."""
    if 0 < chance < 0.01:
        return "<1%"
    return f"{min(round(chance * 100), 99) if chance < 1 else 100}%"


def stack_text(voicing: Voicing) -> str:
    """Degrees low to high, the hands parted by a bar: ``b7 3 | 13 b9``."""
    return " | ".join(
        " ".join(str(tone.degree) for tone in hand) for hand in hands(voicing) if hand
    )


def under_text(voicing: Voicing) -> str:
    """What a line has over a voicing as it is struck: ``under 5``; empty where it has nothing."""
    return f"under {' '.join(str(tone.degree) for tone in voicing.under)}" if voicing.under else ""


def stack_and_line(voicing: Voicing) -> str:
    """The stack, and what a line has over it: ``b7 9 | 3 13, under 5``."""
    return ", ".join(filter(None, (stack_text(voicing), under_text(voicing))))


def hands(voicing: Voicing) -> tuple[tuple[Tone, ...], tuple[Tone, ...]]:
    """The tones of the left and of the right hand, low to high."""
    left = tuple(tone for tone in voicing.tones if tone.hand == "left")
    right = tuple(tone for tone in voicing.tones if tone.hand == "right")
    return left, right


def signed(semitones: int) -> str:
    """A move in semitones: ``+2``, ``-1``, ``0``."""
    return f"{semitones:+d}" if semitones else "0"


def note_name(midi: int) -> str:
    """A pitch that no chord spells, with flats: ``Ab1``; middle C (60) is C4."""
    return with_octave(plain_name(midi % 12), midi)


def one_line(text: str) -> str:
    """A name from outside made safe to print: control characters and line breaks out."""
    return "".join(char if char.isprintable() else "\N{REPLACEMENT CHARACTER}" for char in text)


def asides(count: Count) -> str:
    """How those that landed did so, in brackets: `` (2 in another octave, 1 late)``."""
    octave, late = count.outcomes.get("other octave", 0), count.outcomes.get("late", 0)
    words = [f"{octave} in another octave"] * bool(octave) + [f"{late} late"] * bool(late)
    return f" ({', '.join(words)})" if words else ""


def instead(take: Take, motion: Motion, resolution: Resolution) -> str:
    """A resolution that did not land, in a sentence without an end."""
    before, after = take.voicings[motion.from_index], take.voicings[motion.to_index]
    start = f"{resolution.degree} of {before.chord.symbol.text} did not land"
    if resolution.to is None or resolution.to_midi is None:
        return f"{start}; nothing came in its place over {after.chord.symbol.text}"
    reached = next((t.name for t in after.tones if t.midi == resolution.to_midi), "")
    named = f" ({reached})" if reached else ""
    step = resolution.to_midi - resolution.midi
    way = "went up to" if step > 0 else "went down to" if step < 0 else "stayed, as"
    return f"{start}; it {way} the {resolution.to}{named} of {after.chord.symbol.text}"


class NoteNames:
    """Spelled names of struck notes: as their voicing spells them, else with flats."""

    def __init__(self, voicings: Sequence[Voicing], line: Sequence[LineNote]) -> None:
        self._spelled = {
            (note.onset_s, tone.midi): tone.name
            for voicing in voicings
            for note in voicing.attack.struck
            for tone in voicing.tones
            if tone.midi == note.midi
        } | {(one.note.onset_s, one.note.midi): one.name for one in line}

    def row(self, notes: Sequence[Note]) -> str:
        """Names low to high, with a space between."""
        return " ".join(self._name(note) for note in sorted(notes, key=lambda one: one.midi))

    def _name(self, note: Note) -> str:
        return one_line(self._spelled.get((note.onset_s, note.midi), note_name(note.midi)))
