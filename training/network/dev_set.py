"""The fixed clips of validation: dev instruments as they are, in four situations."""

from dataclasses import dataclass

import numpy as np
import torch

from fixtures.sounded.bank import Bank, Instrument
from stackline.shared.units import LOWEST_MIDI, N_KEYS
from training.network.clips import LENGTH, Studio, generator
from training.network.validation import Groups, group
from training.synthesis.acoustics import Conditions, as_it_is
from training.synthesis.scores import PIANO, TIERS, draw
from training.synthesis.voices import Orchestra

_QUIET_DB = -200.0
SEED = 20_000_003  # far from any seed of training


@dataclass(frozen=True, kw_only=True, eq=False)
class DevSet:
    """One situation. features: (clips, 3, frames, 264). groups: the truth."""

    name: str
    features: torch.Tensor
    groups: Groups


def dev_sets(
    train: Bank, dev: Bank, rng: torch.Generator, speech: torch.Tensor | None, clips: int = 96
) -> tuple[DevSet, ...]:
    """Piano clean, under conditions, and with others playing; electric piano clean.

    The others come from the train split, which has the only basses and drums; the keyboards
    from dev, their notes neither bent nor mixed.
    """
    orchestra = Orchestra(train, 1, rng)
    orchestra.fill()
    piano, electric = dev.of_role("piano")[0], dev.of_role("electric_piano")[0]
    plain, conditions = as_it_is, Conditions(rng, speech)
    wanted = (
        ("clean", piano, plain, _QUIET_DB),
        ("conditions", piano, conditions, _QUIET_DB),
        ("bass and drums", piano, plain, -8.0),
        ("electric", electric, plain, _QUIET_DB),
    )
    found = []
    for i, (name, instrument, chain, backing_db) in enumerate(wanted):
        orchestra.place(PIANO, 0, as_sampled(orchestra, instrument))
        scores = draw(generator(SEED, i), clips, LENGTH)
        scores.detune[:] = 0
        scores.backing_db[:] = backing_db
        batch = Studio(orchestra, chain).record(scores)
        groups = group(batch.labels.strikes.cpu().numpy().astype(np.float64))
        found.append(DevSet(name=name, features=batch.features, groups=groups))
    return tuple(found)


def as_sampled(orchestra: Orchestra, instrument: Instrument) -> torch.Tensor:
    """All keys of an instrument in three loudnesses, untouched."""
    keys = torch.arange(N_KEYS, device=orchestra.device).repeat_interleave(TIERS) + LOWEST_MIDI
    return orchestra.sampled(instrument, keys, torch.zeros_like(keys).float(), vary=False)
