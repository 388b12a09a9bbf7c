"""What a player puts right in a take, and how it is laid over an analysis, old or new.

A correction belongs to a place in the recording, not to a voicing of one analysis: it is
laid over the voicing that begins nearest to it, within 150 ms. It may name the chord, the
notes, or both. Corrected notes are facts (confidence 1); a corrected chord counts as
given, like changes. Where notes change, the whole take is read again, unless its chords
came from changes. Everything that follows (degrees, structures, motion) is made anew by
theory.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

from stackline.shared.harmony import ChordSpan, Voicing
from stackline.shared.notes import Attack, Note, in_order
from stackline.shared.take import Take
from stackline.theory.chords.symbols import parse_symbol
from stackline.theory.motion.motion import motions
from stackline.theory.reading import read
from stackline.theory.sounding import Sounding
from stackline.theory.stacks.voicing_maker import make_voicing, mark_locked

NEAR_S = 0.150


@dataclass(frozen=True, kw_only=True)
class Correction:
    """onset_s: where in the recording. symbol: the chord, or None. pitches: MIDI, or None."""

    onset_s: float
    symbol: str | None = None
    pitches: tuple[int, ...] | None = None


@dataclass(frozen=True, kw_only=True)
class Corrected:
    """A take with corrections in it. places: voicings touched; unplaced: found no voicing."""

    take: Take
    places: tuple[int, ...]
    unplaced: tuple[Correction, ...]


def lay_over(take: Take, corrections: Sequence[Correction]) -> Corrected:
    """The take as the player says it was."""
    if not corrections:
        return Corrected(take=take, places=(), unplaced=())
    placed = [(one, _attack_near(take, one.onset_s)) for one in corrections]
    with_notes = _with_notes(take, placed)
    voicings = list(with_notes.voicings)
    touched: list[int] = []
    for one, _ in placed:
        place = _voicing_near(voicings, one.onset_s)
        if place is not None:
            voicings[place] = _renamed(voicings[place], one)
            touched.append(place)
    beat_s = 60.0 / take.grid.tempo_bpm if take.grid.tempo_bpm else None
    marked = mark_locked(voicings)
    return Corrected(
        take=replace(with_notes, voicings=marked, motions=motions(marked, beat_s)),
        places=tuple(sorted(set(touched))),
        unplaced=tuple(one for one, _ in placed if _voicing_near(voicings, one.onset_s) is None),
    )


def _attack_near(take: Take, onset_s: float) -> Attack | None:
    near = min(take.attacks, key=lambda one: abs(one.onset_s - onset_s), default=None)
    return near if near and abs(near.onset_s - onset_s) <= NEAR_S else None


def _voicing_near(voicings: Sequence[Voicing], onset_s: float) -> int | None:
    def apart(i: int) -> float:
        return abs(voicings[i].attack.onset_s - onset_s)

    near = min(range(len(voicings)), key=apart, default=None)
    return near if near is not None and apart(near) <= NEAR_S else None


def _with_notes(take: Take, placed: Sequence[tuple[Correction, Attack | None]]) -> Take:
    """The take with corrected attacks, read again."""
    new = {
        attack: _restruck(attack, one.pitches)
        for one, attack in placed
        if attack is not None and one.pitches is not None
    }
    if not new:
        return take
    gone = {note for old, made in new.items() for note in old.struck if note not in made.struck}
    attacks = tuple(
        replace(one, held=tuple(note for note in one.held if note not in gone))
        for one in (new.get(attack, attack) for attack in take.attacks)
    )
    notes = {note for attack in attacks for note in attack.struck}
    changed = replace(take, attacks=attacks, notes=in_order(notes))
    return _read_again(changed, dict(zip(take.attacks, attacks, strict=True)))


def _restruck(attack: Attack, pitches: Sequence[int]) -> Attack:
    """The attack with exactly these keys struck; notes that were right stay as heard."""
    heard = {note.midi: note for note in attack.comped}
    over = tuple(note for note in attack.line if note.midi not in pitches)
    struck = tuple(
        replace(heard[pitch], confidence=1.0)
        if pitch in heard
        else Note(
            onset_s=attack.onset_s,
            offset_s=attack.offset_s,
            midi=pitch,
            velocity=round(median(note.velocity for note in attack.struck)),
            confidence=1.0,
        )
        for pitch in sorted(set(pitches))
    )
    held = tuple(note for note in attack.held if note.midi not in pitches)
    every = tuple(sorted(struck + over, key=lambda note: note.midi))
    return replace(attack, struck=every, held=held)


def _read_again(take: Take, renewed: dict[Attack, Attack]) -> Take:
    """Name the voicings anew; those named by changes keep their chords."""
    if all(one.chord.source == "heard" for one in take.voicings):
        reading = read(take.attacks, take.grid, end_s=take.source.duration_s)
        return replace(take, voicings=reading.voicings, motions=reading.motions)
    voicings = tuple(_remade(one, renewed[one.attack], one.chord) for one in take.voicings)
    return replace(take, voicings=voicings)


def _remade(voicing: Voicing, attack: Attack, chord: ChordSpan) -> Voicing:
    """A voicing of an attack under a chord: the keys that it had, as far as they still sound."""
    if attack.struck == voicing.attack.struck and chord == voicing.chord:
        return replace(voicing, attack=attack)
    was_held = {tone.midi for tone in voicing.tones if tone.held}
    sounding = {note.midi: note for note in attack.held if note.midi in was_held}
    held = frozenset(sounding)
    sounding |= {note.midi: note for note in attack.comped}
    notes = tuple(sounding[midi] for midi in sorted(sounding))
    return make_voicing(Sounding(attack=attack, kind="voicing", notes=notes, held=held), chord)


def _renamed(voicing: Voicing, one: Correction) -> Voicing:
    """A voicing with what the player said of it."""
    renamed = voicing
    if one.symbol is not None:
        chord = replace(
            voicing.chord,
            symbol=parse_symbol(one.symbol),
            source="changes",
            confidence=1.0,
            alternatives=(),
        )
        renamed = _remade(voicing, voicing.attack, chord)
    return replace(renamed, confidence=1.0) if one.pitches is not None else renamed
