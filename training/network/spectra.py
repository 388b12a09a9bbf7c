"""The features of `stackline.listen.piano.features` in torch, for whole batches on the GPU.

The windows and triangles are taken from there, so that no number is written twice.
"""

import torch

from stackline.listen.piano.features import (
    AFTER,
    BEFORE,
    FLOOR_POWER,
    GAIN,
    HOP,
    OFFSET,
    WINDOWS,
    hann,
    triangles,
)


def clip_samples(n_frames: int) -> int:
    """Samples that `n_frames` frames look at; the first frame stands at sample BEFORE."""
    return BEFORE + (n_frames - 1) * HOP + AFTER


class Spectra(torch.nn.Module):
    """(batch, clip_samples(n)) sound to (batch, 4, n, 440) features."""

    def __init__(self) -> None:
        super().__init__()
        for window in WINDOWS:
            taper, bank = torch.tensor(hann(window.size)), torch.tensor(triangles(window.size).T)
            self.register_buffer(f"hann_{window.size}", taper, persistent=False)
            self.register_buffer(f"bank_{window.size}", bank.contiguous(), persistent=False)

    def forward(self, sound: torch.Tensor) -> torch.Tensor:
        n_frames = (sound.shape[1] - BEFORE - AFTER) // HOP + 1
        rows = []
        for window in WINDOWS:
            start = BEFORE - window.size // 2 + window.lag
            part = sound[:, start : start + (n_frames - 1) * HOP + window.size]
            frames = part.unfold(1, window.size, HOP) * getattr(self, f"hann_{window.size}")
            power = torch.fft.rfft(frames).abs().square()
            rows.append(power @ getattr(self, f"bank_{window.size}"))
        return GAIN * torch.log10(torch.stack(rows, dim=1) + FLOOR_POWER) + OFFSET
