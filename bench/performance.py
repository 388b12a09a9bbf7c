"""A player's hands: from voicings at places in the bar to struck keys in time.

Human timing (notes of a chord 5 to 25 ms apart, some chords rolled over up to 150 ms),
loudness with accents and a brought-out top voice, keys held or let go, common tones that
stay down while the rest moves, and the pedal. Seconds throughout.
"""

from dataclasses import dataclass, replace

import numpy as np

from bench.truth import AttackKind, TrueAttack, TrueChord, TrueNote

STRUCK_APART_S = (0.005, 0.025)
ROLL_GAP_S = (0.015, 0.040)
WIDEST_ROLL_S = 0.150
REACH_BACK_S = 0.045  # a key must be up this long before it can be struck again
SHORTEST_NOTE_S = 0.09


@dataclass(frozen=True, kw_only=True)
class Planned:
    """An attack before it is played. gap_s: time until the next attack of the take.

    length_s: how long the keys are meant to stay down. keep: pitches that are not struck
    since they stay down from the attack before. rolled: None leaves it to chance.
    """

    time_s: float
    gap_s: float
    length_s: float
    pitches: tuple[int, ...]
    kind: AttackKind
    chord: TrueChord | None
    accent: float
    keep: tuple[int, ...] = ()
    rolled: bool | None = None


@dataclass(frozen=True, kw_only=True)
class Touch:
    """How one player plays one take. loudness: mean MIDI velocity; roll: chance of a roll."""

    loudness: float
    roll: float
    pedal: float

    @classmethod
    def draw(cls, rng: np.random.Generator) -> "Touch":
        """A player at random: soft to loud, with more or less pedal and rolling."""
        return cls(
            loudness=float(rng.uniform(45, 92)),
            roll=float(rng.choice([0.0, 0.05, 0.12])),
            pedal=float(rng.choice([0.0, 0.0, 0.5, 0.9])),
        )


def play(
    rng: np.random.Generator, plan: list[Planned], touch: Touch
) -> tuple[tuple[TrueAttack, ...], tuple[tuple[float, float], ...]]:
    """Strike every planned attack; give the attacks and the spans of the pedal."""
    struck = [_strike(rng, planned, touch) for planned in plan]
    pedal = _pedal_spans(rng, plan, touch)
    attacks = _hold_kept(struck, plan)
    return _damp(attacks, pedal), pedal


def _strike(rng: np.random.Generator, planned: Planned, touch: Touch) -> TrueAttack:
    pitches = [pitch for pitch in planned.pitches if pitch not in planned.keep]
    rolled = len(pitches) >= 4 and planned.gap_s > 0.45 and rng.random() < touch.roll
    rolled = rolled if planned.rolled is None else planned.rolled
    delays = _roll(rng, len(pitches)) if rolled else _together(rng, len(pitches))
    start = planned.time_s + rng.normal(0, 0.008)
    notes = []
    for place, (pitch, delay) in enumerate(zip(pitches, delays, strict=True)):
        onset = start + delay
        length = max(SHORTEST_NOTE_S, planned.length_s * rng.uniform(0.93, 1.05))
        is_top = place == len(pitches) - 1
        notes.append(
            TrueNote(
                onset_s=round(onset, 4),
                key_up_s=round(onset + length, 4),
                offset_s=round(onset + length, 4),
                midi=pitch,
                velocity=_velocity(rng, touch, planned.accent, is_top=is_top),
            )
        )
    return TrueAttack(notes=tuple(notes), kind=planned.kind, chord=planned.chord, rolled=rolled)


def _together(rng: np.random.Generator, count: int) -> np.ndarray:
    if count == 1:
        return np.zeros(1)
    delays = rng.uniform(0, 1, count)
    spread = delays.max() - delays.min()
    return (delays - delays.min()) / spread * rng.uniform(*STRUCK_APART_S)


def _roll(rng: np.random.Generator, count: int) -> np.ndarray:
    gaps = np.append(0.0, rng.uniform(*ROLL_GAP_S, count - 1))
    delays = np.cumsum(gaps)
    return delays * min(1.0, WIDEST_ROLL_S / delays[-1])


def _velocity(rng: np.random.Generator, touch: Touch, accent: float, *, is_top: bool) -> int:
    value = touch.loudness + accent + rng.normal(0, 6) + (6 if is_top else 0)
    return int(np.clip(round(value), 18, 122))


def _pedal_spans(
    rng: np.random.Generator, plan: list[Planned], touch: Touch
) -> tuple[tuple[float, float], ...]:
    """Syncopated pedalling: down just after an attack, up as the next chord is struck."""
    spans: list[tuple[float, float]] = []
    for planned in plan:
        if rng.random() < touch.pedal:
            start = planned.time_s + rng.uniform(0.06, 0.12)
            end = planned.time_s + min(planned.gap_s, 3.0) + rng.uniform(-0.03, 0.04)
            if end > start + 0.05 and (not spans or start > spans[-1][1]):
                spans.append((round(start, 4), round(end, 4)))
    return tuple(spans)


def _hold_kept(attacks: list[TrueAttack], plan: list[Planned]) -> list[TrueAttack]:
    """Keys that stay down through the next attack are let go with that attack's own keys."""
    held = list(attacks)
    for index in range(len(plan) - 1, 0, -1):
        keep = plan[index].keep
        if keep:
            until = max(note.key_up_s for note in held[index].notes)
            previous = held[index - 1]
            notes = tuple(
                replace(note, key_up_s=until, offset_s=until) if note.midi in keep else note
                for note in previous.notes
            )
            held[index - 1] = replace(previous, notes=notes)
    return held


def _damp(
    attacks: list[TrueAttack], pedal: tuple[tuple[float, float], ...]
) -> tuple[TrueAttack, ...]:
    """Let each key up in time for its next strike, and each sound last as the pedal says."""
    next_onset: dict[int, float] = {}
    damped: list[TrueAttack] = []
    for attack in sorted(attacks, key=lambda one: one.onset_s, reverse=True):
        notes = []
        for note in attack.notes:
            again = next_onset.get(note.midi, np.inf)
            key_up = max(note.onset_s + 0.03, min(note.key_up_s, again - REACH_BACK_S))
            offset = next((end for start, end in pedal if start <= key_up < end), key_up)
            offset = max(key_up, min(offset, again))
            notes.append(replace(note, key_up_s=round(key_up, 4), offset_s=round(offset, 4)))
            next_onset[note.midi] = note.onset_s
        damped.append(replace(attack, notes=tuple(notes)))
    return tuple(reversed(damped))
