"""How wrong the network is about a batch."""

from dataclasses import dataclass

import torch
from torch.nn.functional import binary_cross_entropy_with_logits

from training.network.clips import Labels

_SUSTAIN, _TIME, _VELOCITY = 0.15, 0.25, 0.5


@dataclass(frozen=True, kw_only=True, eq=False)
class Loss:
    """Parts, each a scalar tensor; `total` is what is minimised."""

    onset: torch.Tensor
    sustain: torch.Tensor
    time: torch.Tensor
    velocity: torch.Tensor

    @property
    def total(self) -> torch.Tensor:
        rest = _SUSTAIN * self.sustain + _TIME * self.time + _VELOCITY * self.velocity
        return self.onset + rest


def loss(logits: torch.Tensor, labels: Labels) -> Loss:
    """Cross entropies per true cell, and mean errors of time and velocity at strikes.

    logits: (batch, 4, frames, 88), see `training.network.network.HEADS`.
    """
    onset, sustain, time, velocity = logits.float().unbind(dim=1)
    struck = labels.onset * (labels.weight > 0)
    n_struck = struck.sum().clamp(min=1.0)
    cells = binary_cross_entropy_with_logits(onset, labels.onset, labels.weight, reduction="sum")
    held = binary_cross_entropy_with_logits(sustain, labels.sounding, reduction="sum")
    off_time = (torch.tanh(time) - labels.time).abs() * struck
    off_velocity = (torch.sigmoid(velocity) - labels.velocity).abs() * struck
    return Loss(
        onset=cells / n_struck,
        sustain=held / labels.sounding.sum().clamp(min=1.0),
        time=off_time.sum() / n_struck,
        velocity=off_velocity.sum() / n_struck,
    )
