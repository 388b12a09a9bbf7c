"""Chords as heard: the labeller's posteriors turned into spans with alternatives.

A chord holds from the first attack of a run of equal root and family to the next run; each
voicing of the run keeps a symbol of its own (G13, then G13(b9)). Every span has at least
two alternatives, each with a reason in words.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from stackline.shared.best_path import best_path
from stackline.shared.harmony import Alternative, ChordSpan, ChordSymbol
from stackline.theory.chords.degrees import name_degree
from stackline.theory.chords.keys import Key, key_by_number, root_in_key
from stackline.theory.chords.qualities import FAMILIES, Quality
from stackline.theory.chords.spelling import (
    asked_spelling,
    pitch_class_of,
    plain_name,
    single_accidental,
    spell_degree,
)
from stackline.theory.chords.symbols import make_symbol
from stackline.theory.labelling.context import Posterior
from stackline.theory.labelling.labeller import label
from stackline.theory.labelling.naming import name_quality, slash_bass
from stackline.theory.labelling.progress_prior import key_moves
from stackline.theory.labelling.reasons import Evidence, reason
from stackline.theory.labelling.step_scores import Scored
from stackline.theory.sounding import Sounding

N_ALTERNATIVES = 2  # readings beside the first, at least (ours)
MORE_ALTERNATIVES_ABOVE = 0.05  # chance from which another is worth a place (ours)
MOST_ALTERNATIVES = 4  # and at most (ours)
BASS_REACH_S = 2.5
NEAR = 8  # steps: a chord held for longer is spelled by its key alone


@dataclass(frozen=True)
class _Scene:
    """Everything that is known about a sequence while its spans are made."""

    steps: Sequence[Sounding]
    posterior: Posterior
    keys: Sequence[Key]
    notes: np.ndarray
    best: np.ndarray


def heard_spans(scored: Scored, end_s: float) -> list[ChordSpan | None]:
    """One span per step, None for steps that are not voicings."""
    steps = scored.steps
    if not steps:
        return []
    posterior = label(scored)
    best = posterior.chords.argmax(axis=1)
    scene = _Scene(steps, posterior, _key_centres(posterior), scored.families, best)
    spans: list[ChordSpan | None] = [None] * len(steps)
    for run in _runs(steps, best):
        start = steps[run[0]].attack.onset_s
        for i in run:
            if steps[i].kind == "voicing":
                spans[i] = _span(scene, i, start, end_s)
    return _with_ends(spans, end_s)


def _runs(steps: Sequence[Sounding], best: np.ndarray) -> list[list[int]]:
    """Indices of steps in runs of one chord."""
    runs: list[list[int]] = []
    for i in range(len(steps)):
        if runs and best[i] == best[runs[-1][-1]]:
            runs[-1].append(i)
        else:
            runs.append([i])
    return runs


def _with_ends(spans: list[ChordSpan | None], end_s: float) -> list[ChordSpan | None]:
    """Let each run end where the next one starts, and the last one with the recording."""
    starts = sorted({span.start_s for span in spans if span})
    ends = dict(pairwise([*starts, max([end_s, *starts[-1:]])]))
    return [replace(span, end_s=ends[span.start_s]) if span else None for span in spans]


def _span(scene: _Scene, i: int, start_s: float, end_s: float) -> ChordSpan:
    chances = scene.posterior.chords[i]
    chosen = int(scene.best[i])
    symbol = _symbol(scene, i, chosen)
    return ChordSpan(
        start_s=start_s,
        end_s=end_s,
        symbol=symbol,
        source="heard",
        confidence=float(chances[chosen]),
        alternatives=_alternatives(scene, i, symbol),
    )


def _key_centres(posterior: Posterior) -> list[Key]:
    """The key of each step, for spelling: the best path, so that a chord or two change none."""
    moves = np.log(key_moves())
    rows = list(np.log(posterior.keys + 1e-12))
    return [key_by_number(number) for number in best_path(rows, lambda _: moves)]


def _symbol(scene: _Scene, i: int, state: int) -> ChordSymbol:
    """The spelled symbol of a state for the notes of step i."""
    root, family = divmod(state, len(FAMILIES))
    pitches = scene.steps[i].pitches
    row = name_quality(FAMILIES[family], frozenset((pitch - root) % 12 for pitch in pitches))
    spelled = root_in_key(
        root, scene.keys[i], FAMILIES[family],
        next_root_pc=_other_root(scene.best[i + 1 : i + 1 + NEAR], root),
        last_root_pc=_other_root(scene.best[max(0, i - NEAR) : i][::-1], root),
    )  # fmt: skip
    bass = slash_bass(row, root, pitches)
    return make_symbol(spelled, row.key, None if bass is None else _bass_name(row, spelled, bass))


def _bass_name(row: Quality, root: str, bass_pc: int) -> str:
    """A bass by its degree in the chord: the 3rd of D is F#, of Db it is F."""
    if asked_spelling() != "key":
        return plain_name(bass_pc)
    over = (bass_pc - pitch_class_of(root)) % 12
    degree = name_degree(over, row.family, frozenset(row.intervals))
    return single_accidental(spell_degree(root, degree))


def _other_root(states: np.ndarray, root: int) -> int | None:
    """The first root that differs from a chord's own, None where there is none."""
    roots = (int(state) // len(FAMILIES) for state in states)
    return next((one for one in roots if one != root), None)


def _alternatives(scene: _Scene, i: int, chosen: ChordSymbol) -> tuple[Alternative, ...]:
    chances = scene.posterior.chords[i]
    order = [int(state) for state in np.argsort(-chances, kind="stable")[: MOST_ALTERNATIVES + 1]]
    order = [state for state in order if state != scene.best[i]]
    extra = int(np.count_nonzero(chances >= MORE_ALTERNATIVES_ABOVE)) - 1
    count = min(max(N_ALTERNATIVES, extra), MOST_ALTERNATIVES)
    bass = _bass(scene.steps, i)
    classes = frozenset(pitch % 12 for pitch in scene.steps[i].pitches)
    found = []
    for state in order[:count]:
        symbol = _symbol(scene, i, state)
        favour = bool(scene.notes[i, state] > scene.notes[i, scene.best[i]])
        past = scene.posterior.past[i]
        evidence = Evidence(
            classes=classes,
            notes_favour=favour,
            bass_pc=bass,
            past_favours=bool(past[state] > past[scene.best[i]]),
            is_first=i == 0,
        )
        found.append(
            Alternative(
                symbol=symbol,
                confidence=float(chances[state]),
                reason=reason(symbol, chosen, evidence),
            )
        )
    return tuple(found)


def _bass(steps: Sequence[Sounding], i: int) -> int | None:
    """The pitch class of a bass heard with step i: its own deep note, or a lone one near."""
    if steps[i].deep:
        return steps[i].pitches[0] % 12
    for j in (i + 1, i - 1):
        if 0 <= j < len(steps) and steps[j].kind == "bass":
            apart = abs(steps[j].attack.onset_s - steps[i].attack.onset_s)
            if apart <= BASS_REACH_S:
                return steps[j].pitches[0] % 12
    return None
