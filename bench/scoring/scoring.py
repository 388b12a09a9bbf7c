"""How right a hearing is, attack by attack and note by note.

Attacks: each true attack is matched with the heard attack nearest in time, one to one and
nearest pairs first, if less than 100 ms lie between them (two attacks that overlap in time,
as a roll may, are 0 ms apart). **Exact**: the struck set is identical; so a split or a
merged attack is wrong, and so is an attack that was not heard. Top, bottom and
pitch-class set are of the struck set too. Heard attacks without a partner are false.

Notes: mir_eval.transcription (0.8; MIREX note tracking, onsets within 50 ms, pitch within a
quarter tone, offsets not scored). Velocities: Spearman's rank correlation over the notes
matched there. Chords are scored only where the notes are exact and a chord is meant.
"""

from dataclasses import dataclass

import mir_eval
import numpy as np
from scipy import stats

from fixtures.played.truth import TrueAttack, TrueNote, TrueTake
from stackline.shared.notes import Attack, Note
from stackline.shared.units import midi_to_hz

FARTHEST_S = 0.100
ONSET_TOLERANCE_S = 0.050
FEWEST_FOR_RANKS = 10


@dataclass(frozen=True, kw_only=True)
class Named:
    """A chord that a reader gave: root 0..11 and family as in `qualities`."""

    root_pc: int
    family: str


@dataclass(frozen=True, kw_only=True)
class Heard:
    """What a listener made of one recording, attack by attack (tuples of one length).

    confidences: the chance that the attack's set is exact, None where the listener gives
    none. chords: None for a listener that names no chords, else None where it names none.
    """

    notes: tuple[Note, ...]
    attacks: tuple[Attack, ...]
    confidences: tuple[float | None, ...]
    chords: tuple[Named | None, ...] | None


@dataclass(frozen=True, kw_only=True)
class AttackScore:
    """One true attack's fate. root, family: None where no chord is scored."""

    exact: bool
    top: bool
    bottom: bool
    pitch_classes: bool
    root: bool | None
    family: bool | None


@dataclass(frozen=True, kw_only=True)
class TakeScore:
    """One take's scores.

    trusted: for every heard attack with a confidence, that confidence and whether the
    attack was exact (a false attack is not). velocity_rank: None with too few notes.
    """

    attacks: tuple[AttackScore, ...]
    false_attacks: int
    duration_s: float
    note_precision: float
    note_recall: float
    note_f1: float
    onset_errors_s: tuple[float, ...]
    velocity_rank: float | None
    trusted: tuple[tuple[float, bool], ...]


def score_take(take: TrueTake, heard: Heard, families: dict[str, str]) -> TakeScore:
    """Score a hearing of a take; families: from a quality's key to its family."""
    partner = match_attacks(take.attacks, heard.attacks)
    scores = tuple(
        _score_attack(true, heard, index, families)
        for true, index in zip(take.attacks, partner, strict=True)
    )
    exact = {index for index, score in zip(partner, scores, strict=True) if score.exact}
    pairs = match_notes(take.notes, heard.notes)
    precision, recall, f1 = _note_rates(len(take.notes), len(heard.notes), len(pairs))
    return TakeScore(
        attacks=scores,
        false_attacks=len(heard.attacks) - sum(index is not None for index in partner),
        duration_s=take.duration_s,
        note_precision=precision,
        note_recall=recall,
        note_f1=f1,
        onset_errors_s=tuple(round(est.onset_s - ref.onset_s, 5) for ref, est in pairs),
        velocity_rank=_rank(pairs),
        trusted=tuple(
            (confidence, index in exact)
            for index, confidence in enumerate(heard.confidences)
            if confidence is not None
        ),
    )


def match_attacks(
    true: tuple[TrueAttack, ...], heard: tuple[Attack, ...]
) -> tuple[int | None, ...]:
    """For each true attack the index of its heard partner, or None."""
    pairs = []
    for row, attack in enumerate(true):
        for column, other in enumerate(heard):
            apart = _apart_s(attack, other)
            if apart <= FARTHEST_S:
                pairs.append((apart, abs(attack.onset_s - other.onset_s), row, column))
    partner: dict[int, int] = {}
    taken: set[int] = set()
    for _, _, row, column in sorted(pairs):
        if row not in partner and column not in taken:
            partner[row] = column
            taken.add(column)
    return tuple(partner.get(row) for row in range(len(true)))


def _apart_s(attack: TrueAttack, other: Attack) -> float:
    """Time between two attacks, each from its first note to its last; 0 if they overlap."""
    return max(
        0.0,
        other.onset_s - (attack.onset_s + attack.spread_s),
        attack.onset_s - (other.onset_s + other.spread_s),
    )


def _score_attack(
    true: TrueAttack, heard: Heard, index: int | None, families: dict[str, str]
) -> AttackScore:
    if index is None:
        return AttackScore(
            exact=False, top=False, bottom=False, pitch_classes=False, root=None, family=None
        )
    struck = tuple(sorted(note.midi for note in heard.attacks[index].struck))
    exact = struck == true.pitches
    root = family = None
    if exact and heard.chords and true.chord and true.kind == "listed":
        named = heard.chords[index]
        root = named is not None and named.root_pc == true.chord.root_pc
        family = bool(root and named and named.family == families[true.chord.quality])
    return AttackScore(
        exact=exact,
        top=struck[-1] == true.pitches[-1],
        bottom=struck[0] == true.pitches[0],
        pitch_classes={midi % 12 for midi in struck} == {midi % 12 for midi in true.pitches},
        root=root,
        family=family,
    )


def match_notes(true: tuple[TrueNote, ...], heard: tuple[Note, ...]) -> list[tuple[TrueNote, Note]]:
    """Pairs of true and heard notes of one pitch within 50 ms, by mir_eval's matching."""
    if not true or not heard:
        return []
    pairs = mir_eval.transcription.match_notes(
        *_as_intervals(true), *_as_intervals(heard),
        onset_tolerance=ONSET_TOLERANCE_S, offset_ratio=None,
    )  # fmt: skip
    return [(true[row], heard[column]) for row, column in pairs]


def _as_intervals(notes: tuple[TrueNote, ...] | tuple[Note, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Onsets and offsets, shape (n, 2), and pitches in Hz, as mir_eval takes them."""
    spans = np.array([(note.onset_s, max(note.offset_s, note.onset_s + 0.01)) for note in notes])
    return spans, np.array([midi_to_hz(note.midi) for note in notes])


def _note_rates(n_true: int, n_heard: int, n_matched: int) -> tuple[float, float, float]:
    precision = n_matched / n_heard if n_heard else 0.0
    recall = n_matched / n_true if n_true else 0.0
    total = precision + recall
    return precision, recall, 2 * precision * recall / total if total else 0.0


def _rank(pairs: list[tuple[TrueNote, Note]]) -> float | None:
    """Spearman's correlation of true and heard velocities; None if it says nothing."""
    true = [ref.velocity for ref, _ in pairs]
    heard = [est.velocity for _, est in pairs]
    if len(pairs) < FEWEST_FOR_RANKS or len(set(true)) < 2 or len(set(heard)) < 2:
        return None
    return float(stats.spearmanr(true, heard).statistic)
