"""The fixed clips of validation: dev instruments as they are, in some situations."""

from dataclasses import dataclass

import numpy as np
import torch

from fixtures.sounded.bank import Bank, Instrument
from stackline.shared.units import LOWEST_MIDI, N_KEYS
from training.network.clips import LENGTH, Studio, generator
from training.network.validation import Groups, group
from training.synthesis.acoustics import Chain, Conditions, as_it_is
from training.synthesis.clip_score import PIANO, TIERS
from training.synthesis.scores import draw
from training.synthesis.voices import Orchestra

_QUIET_DB = -200.0
SEED = 20_000_003  # far from any seed of training


@dataclass(frozen=True, kw_only=True, eq=False)
class DevSet:
    """One situation. features: (clips, 4, frames, 440). groups: the truth."""

    name: str
    features: torch.Tensor
    groups: Groups


def dev_sets(
    train: Bank, dev: Bank, rng: torch.Generator, speech: torch.Tensor | None, clips: int = 96
) -> tuple[DevSet, ...]:
    """Each piano clean; one under conditions, and one with others playing; electric piano clean.

    Keyboards, basses and drums come from dev, the keyboards' notes neither bent nor mixed;
    leads from train, which has the only ones.
    """
    missing = [one for one in train.instruments if not dev.of_role(one.role)]
    players = Bank(sample_rate_hz=dev.sample_rate_hz, instruments=(*dev.instruments, *missing))
    orchestra = Orchestra(players, 1, rng)
    orchestra.fill()
    pianos, electric = dev.of_role("piano"), dev.of_role("electric_piano")[0]
    plain, conditions = as_it_is, Conditions(rng, speech)
    wanted: tuple[tuple[str, Instrument, Chain, float], ...] = (
        *((one.name, one, plain, _QUIET_DB) for one in pianos),
        ("conditions", pianos[-1], conditions, _QUIET_DB),
        ("trio", pianos[-1], plain, -3.0),
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
