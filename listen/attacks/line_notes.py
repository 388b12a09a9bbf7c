"""Line and comping apart: the chance of each note to be of a line played over the comping.

A small network (`line_notes.npz`, made by ``python -m training.classifiers.fit_line_notes``) reads
what `line_features` says of a note. A line is taken to lie on top: a note is no likelier to be of
it than any note struck above it with it, so a chord that moves with its melody stays whole. No
harmony is asked. Figures and what they were measured on: bench/results/lines.json.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from stackline.listen.attacks.line_features import line_features
from stackline.listen.one_layer import OneLayer, load
from stackline.shared.notes import Attack

WEIGHTS = Path(__file__).parent / "line_notes.npz"


@lru_cache(maxsize=1)
def classifier() -> OneLayer:
    """Log odds of a note being a line's, from the file of weights."""
    return load(WEIGHTS)


def with_line(attacks: Sequence[Attack]) -> tuple[Attack, ...]:
    """The same attacks, their notes each with its chance of being a line's (`Note.line`)."""
    if not attacks:
        return ()
    struck = [note for attack in attacks for note in attack.struck]
    chances = zip(struck, line_chances(attacks, classifier()), strict=True)
    lined = {note: replace(note, line=round(float(chance), 3)) for note, chance in chances}
    return tuple(
        replace(
            attack,
            struck=tuple(lined[note] for note in attack.struck),
            held=tuple(lined[note] for note in attack.held),
        )
        for attack in attacks
    )


def line_chances(attacks: Sequence[Attack], network: OneLayer) -> np.ndarray:
    """Chances 0..1 of the struck notes, by attack and rising pitch: (n,)."""
    odds = network(line_features(attacks))
    chances = 1.0 / (1.0 + np.exp(-np.clip(odds, -30.0, 30.0)))
    low = 0
    for attack in attacks:
        own = slice(low, low + len(attack.struck))
        chances[own] = np.minimum.accumulate(chances[own][::-1])[::-1]
        low = own.stop
    return np.asarray(chances)
