"""Notes into clips: rows of the orchestra's slots, delayed, damped and added.

Two forms of one sum: plain torch, which any device runs, and a kernel of `kernels`
that does it in one pass on a GPU.
"""

from dataclasses import dataclass

import torch

from training.synthesis import kernels


@dataclass(frozen=True, kw_only=True, eq=False)
class Rows:
    """Notes of a batch, all (batch, n).

    slot: row of the orchestra. onset, release: samples. tau: the damper's time constant in
    samples. stem: 0 for what is to be heard, 1 for the rest. count: (batch,) rows in use.
    """

    slot: torch.Tensor
    onset: torch.Tensor
    release: torch.Tensor
    gain: torch.Tensor
    tau: torch.Tensor
    stem: torch.Tensor
    count: torch.Tensor


def mix(slots: torch.Tensor, rows: Rows, length: int) -> torch.Tensor:
    """Sound of a batch: (batch, 2, length) float32, stem by stem."""
    if kernels.usable(slots):
        columns = (rows.slot, rows.onset, rows.release, rows.gain, rows.tau, rows.stem, rows.count)
        return kernels.mixing(slots, columns, length)
    return mix_plainly(slots, rows, length)


def mix_plainly(slots: torch.Tensor, rows: Rows, length: int) -> torch.Tensor:
    """`mix`, note by note."""
    batch = len(rows.slot)
    out = torch.zeros((batch, 2, length), device=slots.device)
    t = torch.arange(length, device=slots.device)
    for b in range(batch):
        for j in range(int(rows.count[b])):
            place = t - rows.onset[b, j]
            valid = (place >= 0) & (place < slots.shape[1])
            sound = slots[rows.slot[b, j], place.clamp(0, slots.shape[1] - 1)]
            damped = torch.exp(-(t - rows.release[b, j]).clamp(min=0) / rows.tau[b, j])
            out[b, rows.stem[b, j]] += torch.where(valid, sound * damped, 0) * rows.gain[b, j]
    return out
