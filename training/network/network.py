"""The piano ear's network: features of a take to what each key does in each frame.

Input: (batch, 4, frames, 440), the channels of `features`. Output: (batch, 4,
frames, 88) logits: struck here, sounding, time of the strike relative to the frame (in
frames, through tanh), velocity (through sigmoid). Column 0 is A0.

Plain convolutions, batch norm and ReLU only, so that any ONNX runtime is fast at it:

* copies of the spectrum shifted by intervals of the harmonic series stand as channels, so
  that a key sees its own partials, and those of the octaves and twelfths below, at one place;
* two 3x3 convolutions, the second with stride 3 over pitch, lead to the 88 keys;
* residual blocks look along time (depthwise 3, dilated) and along pitch (depthwise 25, two
  octaves), and mix channels in between.

`margin` frames on either side are all that an output frame can depend on.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import torch
from torch import nn

from stackline.listen.piano.features import BINS_PER_KEY, N_WINDOWS
from stackline.shared.units import N_KEYS

SHIFTS = (-95, -60, 0, 60, 95, 120, 139, 155)  # bins: twelfth and octave below, partials 2 to 6
FLOOR = -2.0  # what a silent bin reads, for pitches outside of the bins
HEADS = ("onset", "sustain", "time", "velocity")


@dataclass(frozen=True, kw_only=True)
class Shape:
    """Sizes of a network. dilations: one residual block each, along time."""

    front: int = 48
    width: int = 160
    hidden: int = 384
    pitch_kernel: int = 25
    dilations: tuple[int, ...] = (1, 2, 4, 8, 16, 1, 2, 4, 8, 2)

    @property
    def margin(self) -> int:
        """Frames of context on each side of an output frame."""
        return 2 + sum(self.dilations)


class Network(nn.Module):
    """See the module's words. Logits out; `probabilities` of the export applies the curves."""

    def __init__(self, shape: Shape, shifts: Sequence[int] = SHIFTS) -> None:
        super().__init__()
        self.shape = shape
        self.shifts = tuple(shifts)
        channels = N_WINDOWS * len(self.shifts)
        self.front = _convolution(channels, shape.front, (3, 3), padding=(1, 1))
        self.keys = _convolution(
            shape.front, shape.width, (3, 3), stride=(1, BINS_PER_KEY), padding=(1, 0)
        )
        self.blocks = nn.ModuleList([Block(shape, dilation) for dilation in shape.dilations])
        self.head = nn.Conv2d(shape.width, len(HEADS), 1)
        nn.init.constant_(self.head.bias[0], -5.0)  # strikes are rare

    def forward(self, features: torch.Tensor) -> torch.Tensor:
        hidden = torch.relu(self.front(self.harmonics(features)))
        hidden = torch.relu(self.keys(hidden))
        for block in self.blocks:
            hidden = block(hidden)
        return self.head(hidden)

    def harmonics(self, features: torch.Tensor) -> torch.Tensor:
        """(batch, 4, frames, 440) to (batch, 32, frames, 440): shifted copies as channels."""
        reach = max(abs(shift) for shift in self.shifts)
        n_bins = N_KEYS * BINS_PER_KEY
        padded = nn.functional.pad(features, (reach, reach), value=FLOOR)
        parts = [padded[..., reach + shift : reach + shift + n_bins] for shift in self.shifts]
        return torch.cat(parts, dim=1)


class Block(nn.Module):
    """x + channels(pitch(time(x))): two depthwise convolutions and a bottleneck turned round.

    On a GPU the same sums are done as shifts and matrix products, which compile well there.
    """

    def __init__(self, shape: Shape, dilation: int) -> None:
        super().__init__()
        width, reach = shape.width, shape.pitch_kernel
        self.time = _convolution(
            width, width, (3, 1), padding=(dilation, 0), dilation=(dilation, 1), groups=width
        )
        self.pitch = _convolution(width, width, (1, reach), padding=(0, reach // 2), groups=width)
        self.widen = _convolution(width, shape.hidden, (1, 1))
        self.narrow = _convolution(shape.hidden, width, (1, 1))

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        if x.is_cuda:
            return self.as_products(x)
        hidden = self.pitch(torch.relu(self.time(x)))
        return torch.relu(x + self.narrow(torch.relu(self.widen(hidden))))

    def as_products(self, x: torch.Tensor) -> torch.Tensor:
        """What `forward` gives, by shifts and matrix products."""
        (time, time_norm), (pitch, pitch_norm) = self.time, self.pitch
        hidden = torch.relu(time_norm(along_time(x, time.weight, time.dilation[0])))
        hidden = pitch_norm(along_pitch(hidden, pitch.weight))
        (widen, widen_norm), (narrow, narrow_norm) = self.widen, self.narrow
        hidden = torch.relu(widen_norm(across_channels(hidden, widen.weight)))
        return torch.relu(x + narrow_norm(across_channels(hidden, narrow.weight)))


def along_time(x: torch.Tensor, weight: torch.Tensor, dilation: int) -> torch.Tensor:
    """Depthwise convolution over time. x: (batch, channels, frames, keys); weight: (c, 1, 3, 1)."""
    n_frames = x.shape[2]
    padded = nn.functional.pad(x, (0, 0, dilation, dilation))
    taps = weight[:, 0, :, 0].to(x.dtype)[:, :, None, None]
    parts = [padded[:, :, i * dilation : i * dilation + n_frames] * taps[:, i] for i in range(3)]
    return parts[0] + parts[1] + parts[2]


def along_pitch(x: torch.Tensor, weight: torch.Tensor) -> torch.Tensor:
    """Depthwise convolution over keys as one banded matrix a channel. weight: (c, 1, 1, k)."""
    n_keys, taps = x.shape[3], weight.shape[3]
    key = torch.arange(n_keys, device=x.device)
    tap = key[:, None] - key[None] + taps // 2  # from key (row) to key (column)
    inside = (tap >= 0) & (tap < taps)
    matrices = weight[:, 0, 0][:, tap.clamp(0, taps - 1)] * inside
    return torch.matmul(x, matrices.to(x.dtype))


def across_channels(x: torch.Tensor, weight: torch.Tensor) -> torch.Tensor:
    """A 1x1 convolution as one product. weight: (out, in, 1, 1)."""
    batch, _, n_frames, n_keys = x.shape
    mixed = torch.matmul(weight[:, :, 0, 0].to(x.dtype), x.flatten(2))
    return mixed.reshape(batch, len(weight), n_frames, n_keys)


def _convolution(
    inputs: int, outputs: int, kernel: tuple[int, int], **options: Any
) -> nn.Sequential:
    layer = nn.Conv2d(inputs, outputs, kernel, bias=False, **options)
    return nn.Sequential(layer, nn.BatchNorm2d(outputs))
