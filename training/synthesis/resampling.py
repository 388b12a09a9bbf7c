"""Rows of sound read at other speeds: notes at other pitches, clips out of tune."""

import torch

from training.synthesis import kernels


def resampled(
    sources: torch.Tensor, row: torch.Tensor, ratio: torch.Tensor, length: int, taps: int = 8
) -> torch.Tensor:
    """Rows of `sources` read at `ratio` times their speed: (n, length), windowed sinc."""
    if kernels.usable(sources):
        return kernels.resampling(sources, row, ratio, length, taps)
    return resampled_plainly(sources, row, ratio, length, taps)


def resampled_plainly(
    sources: torch.Tensor, row: torch.Tensor, ratio: torch.Tensor, length: int, taps: int = 8
) -> torch.Tensor:
    """`resampled`, tap by tap."""
    out = torch.empty((len(row), length), device=sources.device)
    steps = torch.arange(length, device=sources.device)
    for start in range(0, len(row), 96):  # in parts, for memory
        rows = row[start : start + 96, None]
        place = steps.double() * ratio[start : start + 96, None].double()
        whole = place.floor().long()
        part = (place - whole).float()
        total = torch.zeros_like(part)
        for tap in range(1 - taps // 2, taps // 2 + 1):
            at = whole + tap
            valid = (at >= 0) & (at < sources.shape[1])
            weight = torch.sinc(part - tap) * torch.cos(torch.pi * (part - tap) / (taps + 2)) ** 2
            read = sources[rows, at.clamp(0, sources.shape[1] - 1)]
            total += torch.where(valid, read, 0) * weight
        out[start : start + 96] = total
    return out
