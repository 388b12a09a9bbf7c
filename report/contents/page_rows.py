"""The rows of the page: one record a voicing, with the motion that leads on from it.

Everything a template prints is made here, as text or as drawing records; the templates
only place it.
"""

from dataclasses import dataclass, replace

from stackline.report.contents.keyboard_picture import (
    Bracket,
    Line,
    Marker,
    Stretch,
    brackets,
    lines,
    markers,
)
from stackline.report.words.marks import (
    UNSURE_BELOW,
    doubt_words,
    doubts,
    hands,
    instead,
    note_name,
    percent,
    signed,
    stack_and_line,
)
from stackline.report.words.page_text import fractions, prose
from stackline.report.words.take_view import TakeView
from stackline.shared.harmony import ChordSymbol, Motion, Resolution, Voicing
from stackline.shared.take import Take
from stackline.theory.chords.foreign_chords import is_known
from stackline.theory.chords.root_under import bass_key
from stackline.theory.chords.spelling import with_signs
from stackline.theory.explain import explain_motion, explain_voicing, hanging_words
from stackline.theory.motion.tally import ARRIVED

LEAST_CHANCE = 0.02  # a runner-up below this is left out
SHORTEST_S = 0.3  # a voicing plays at least this long
OUTCOME_SIGNS = {"landed": "\u2713", "other octave": "\u2713 8ve", "late": "\u2713 late",
         "held": "\u2717 held", "not landed": "\u2717"}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """A resolution in a few characters, and in words."""

    sign: str
    short: str
    words: str
    arrived: bool


@dataclass(frozen=True, kw_only=True)
class Other:
    """The runner-up reading.

    over: both roots where the name is unsure, each with the key that a bass has for it, to be
    heard under the stack (its MIDI pitches as text).
    """

    symbol: str
    chance: str
    reason: str
    stack: str = ""
    over: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Row:
    """All that the page shows of one voicing."""

    number: int
    start: str
    end: str
    place: str
    where: str
    symbol: str
    doubt: str
    top: str
    stack: str
    names: str
    why: str
    explained: str
    warnings: tuple[str, ...]
    other: Other | None
    notes_sure: str
    name_sure: str
    spoken: str
    markers: tuple[Marker, ...]
    brackets: tuple[Bracket, ...]
    motion: str
    parallel: str
    resolved: tuple[Outcome, ...]
    lines: tuple[Line, ...]


def rows(view: TakeView, stretch: Stretch) -> list[Row]:
    """One row a voicing, in order, with the motion that leads on from it."""
    return [_row(view, i, stretch) for i in range(len(view.take.voicings))]


def end_s(take: Take, i: int) -> float:
    """When a voicing stops being the one that sounds: at its end, or at the next one."""
    attack = take.voicings[i].attack
    end = max(attack.offset_s, attack.onset_s + SHORTEST_S)
    if i + 1 < len(take.voicings):
        end = min(end, take.voicings[i + 1].attack.onset_s)
    return end


def _row(view: TakeView, i: int, stretch: Stretch) -> Row:
    take, voicing, onward = view.take, view.take.voicings[i], view.onward.get(i)
    symbol, stack = with_signs(voicing.chord.symbol.text), signed_stack(stack_and_line(voicing))
    return Row(
        number=i + 1,
        start=f"{voicing.attack.onset_s:.3f}",
        end=f"{end_s(take, i):.3f}",
        place=fractions(view.places.short(voicing.attack)),
        where=fractions(view.places.words(voicing.attack)),
        symbol=symbol,
        doubt=doubt_words(voicing),
        top=f"{with_signs(voicing.top.name)}, the {with_signs(str(voicing.top.degree))}",
        stack=stack,
        names=names_text(voicing),
        why=_why(voicing),
        explained=prose(explain_voicing(replace(voicing, warnings=()))),
        warnings=tuple(prose(warning) for warning in voicing.warnings),
        other=_other(voicing),
        notes_sure=percent(voicing.confidence),
        name_sure=percent(voicing.chord.confidence),
        spoken=f"{symbol}: {_spoken(voicing)}",
        markers=markers(voicing, stretch),
        brackets=brackets(voicing, stretch),
        motion=_motion_words(onward, take),
        parallel=_parallel(onward),
        resolved=tuple(_outcome(take, onward, one) for one in onward.resolutions) if onward else (),
        lines=lines(onward, stretch) if onward else (),
    )


def _motion_words(motion: Motion | None, take: Take) -> str:
    """The motion in a sentence; its resolutions are shown one by one beside it."""
    if motion is None:
        return ""
    hanging = hanging_words(motion, take.voicings)
    after = f" {hanging[0].upper()}{hanging[1:]}." if hanging else ""
    return prose(explain_motion(replace(motion, resolutions=()), take.voicings) + after)


def signed_stack(stack: str) -> str:
    """Degrees or names between spaces, each with real accidentals."""
    return " ".join(with_signs(word) for word in stack.split(" "))


def names_text(voicing: Voicing) -> str:
    """The notes low to high, the hands parted as in the stack: ``C F | Bb D``."""
    return " | ".join(
        " ".join(with_signs(tone.name) for tone in hand) for hand in hands(voicing) if hand
    )


def _spoken(voicing: Voicing) -> str:
    """The keys in words, low to high, for those who cannot see the picture."""
    return ", ".join(
        f"{with_signs(tone.name)} the {with_signs(str(tone.degree))}{' held' if tone.held else ''}"
        for tone in voicing.tones
    )


def _why(voicing: Voicing) -> str:
    """What makes a voicing unsure, in one sentence; empty where it is not."""
    parts = []
    found = doubts(voicing)
    if "notes" in found:
        weak = [note for note in voicing.attack.struck if note.confidence < UNSURE_BELOW]
        names = {tone.midi: tone.name for tone in voicing.tones}
        told = [f"{names.get(n.midi) or note_name(n.midi)} ({percent(n.confidence)})" for n in weak]
        whose = [n for n in voicing.attack.struck if max(n.line, 1 - n.line) < UNSURE_BELOW]
        if told:
            parts.append(f"faint or covered: {', '.join(told)}")
        if whose:
            named = ", ".join(names.get(n.midi) or note_name(n.midi) for n in whose)
            parts.append(f"of the chord or of the line over it: {named}")
        if not told and not whose:
            parts.append("a note may be missing, or one too many")
    if "name" in found:
        other = voicing.chord.alternatives[:1]
        against = f", {other[0].symbol.text} {percent(other[0].confidence)}" if other else ""
        chosen = f"{voicing.chord.symbol.text} {percent(voicing.chord.confidence)}"
        parts.append(f"names that fit: {chosen}{against}")
    return prose("; ".join(parts))


def _other(voicing: Voicing) -> Other | None:
    """The runner-up, unless it is so unlikely that it only takes up room."""
    second = next(iter(voicing.chord.alternatives), None)
    if second is None or second.confidence < LEAST_CHANCE:
        return None
    return Other(
        symbol=with_signs(second.symbol.text),
        chance=percent(second.confidence),
        reason=prose(second.reason),
        stack=" ".join(map(str, voicing.pitches)),
        over=_both_roots(voicing.chord.symbol, second.symbol) if _leans(voicing) else (),
    )


def _leans(voicing: Voicing) -> bool:
    """Whether the name of a voicing is unsure."""
    return voicing.chord.confidence < UNSURE_BELOW


def _both_roots(*symbols: ChordSymbol) -> tuple[tuple[str, int], ...]:
    """Names and keys of two basses; empty where it is one."""
    if not all(map(is_known, symbols)):
        return ()
    found = tuple((with_signs(one.bass or one.root), bass_key(one)) for one in symbols)
    return found if found[0][1] != found[1][1] else ()


def _parallel(motion: Motion | None) -> str:
    if motion is None or motion.parallel is None:
        return ""
    return f"{motion.parallel.kind} {signed(motion.parallel.semitones)}"


def _outcome(take: Take, motion: Motion, one: Resolution) -> Outcome:
    goal = f"\u2192{with_signs(str(one.to))}" if one.to is not None else ""
    arrived = one.outcome in ARRIVED
    words = one.outcome if arrived else prose(instead(take, motion, one))
    return Outcome(
        sign=OUTCOME_SIGNS[one.outcome],
        short=f"{with_signs(str(one.degree))}{goal}",
        words=words,
        arrived=arrived,
    )
