"""The three loops of synthesis that are worth a GPU kernel each: mixing, resampling, partials.

Each has its plain form in torch in the module that uses it, which every device runs and
which says what is computed; on a GPU a kernel does the same in one pass over memory.
``python -m training.synthesis.kernels`` on a GPU compares the two.
"""

from typing import Any

import torch

try:
    import triton
    import triton.language as tl
except ImportError:  # builds of torch for the CPU have none
    triton = None

_BLOCK = 1024


def usable(tensor: torch.Tensor) -> bool:
    """Whether kernels run where this tensor is."""
    return triton is not None and tensor.is_cuda


if triton is not None:

    @triton.jit
    def _mixing(
        slots: Any, slot: Any, onset: Any, release: Any, gain: Any, tau: Any, stem: Any,
        count: Any, out: Any, n_rows: int, slot_length: int, length: int, block: tl.constexpr,
    ) -> None:  # fmt: skip
        b = tl.program_id(1)
        t = tl.program_id(0) * block + tl.arange(0, block)
        first = tl.zeros((block,), tl.float32)
        second = tl.zeros((block,), tl.float32)
        for j in range(tl.load(count + b)):
            at = b * n_rows + j
            place = t - tl.load(onset + at)
            inside = (place >= 0) & (place < slot_length) & (t < length)
            row = slots + tl.load(slot + at).to(tl.int64) * slot_length
            sound = tl.load(row + place, mask=inside, other=0.0)
            late = tl.maximum((t - tl.load(release + at)).to(tl.float32), 0.0)
            sound = sound * tl.exp(-late / tl.load(tau + at)) * tl.load(gain + at)
            other = tl.load(stem + at).to(tl.float32)
            first += sound * (1 - other)
            second += sound * other
        base = out + b * 2 * length + t
        tl.store(base, first, mask=t < length)
        tl.store(base + length, second, mask=t < length)

    @triton.jit
    def _resampling(
        sources: Any, row: Any, ratio: Any, out: Any,
        source_length: int, length: int, taps: tl.constexpr, block: tl.constexpr,
    ) -> None:  # fmt: skip
        n = tl.program_id(1)
        t = tl.program_id(0) * block + tl.arange(0, block)
        place = t.to(tl.float64) * tl.load(ratio + n)
        whole = tl.floor(place)
        part = (place - whole).to(tl.float32)
        first = whole.to(tl.int32)
        base = sources + tl.load(row + n).to(tl.int64) * source_length
        total = tl.zeros((block,), tl.float32)
        for i in tl.static_range(taps):
            tap = i + 1 - taps // 2
            x = part - tap
            turn = 3.14159265358979 * x
            sinc = tl.where(tl.abs(x) < 1e-6, 1.0, tl.sin(turn) / tl.where(x == 0, 1.0, turn))
            taper = tl.cos(turn / (taps + 2))
            at = first + tap
            inside = (at >= 0) & (at < source_length) & (t < length)
            total += tl.load(base + at, mask=inside, other=0.0) * sinc * taper * taper
        tl.store(out + n.to(tl.int64) * length + t, total, mask=t < length)

    @triton.jit
    def _partials(
        f0: Any, table: Any, out: Any, n_partials: int, length: int,
        vibrato: float, limit_hz: float, rate: float, block: tl.constexpr,
    ) -> None:  # fmt: skip
        n = tl.program_id(1)
        i = tl.program_id(0) * block + tl.arange(0, block)
        t = i.to(tl.float32) / rate
        wobble = i.to(tl.float64) / rate + (vibrato / (5.5 * 6.283) * tl.sin(6.283 * 5.5 * t)).to(
            tl.float64
        )
        base_hz = tl.load(f0 + n)
        total = tl.zeros((block,), tl.float32)
        for k in range(n_partials):
            at = table + (n * n_partials + k) * 9
            hz = base_hz * tl.load(at)
            if hz < limit_hz:
                share = tl.load(at + 4)
                envelope = (1 - share) * tl.exp(-tl.load(at + 2) * t)
                envelope += share * tl.exp(-tl.load(at + 3) * t)
                depth = tl.load(at + 6)
                beating = tl.cos(6.2832 * tl.load(at + 5) * t + tl.load(at + 8))
                envelope *= (1 + depth * beating) / (1 + depth) * tl.load(at + 1)
                turns = hz.to(tl.float64) * wobble
                turns = (turns - tl.floor(turns)).to(tl.float32)
                total += envelope * tl.sin(6.2832 * turns + tl.load(at + 7))
        tl.store(out + n.to(tl.int64) * length + i, total, mask=i < length)


def mixing(slots: torch.Tensor, columns: tuple[torch.Tensor, ...], length: int) -> torch.Tensor:
    """See `mix_plainly`; columns: the fields of its `Rows` in their order."""
    batch, n_rows = columns[0].shape
    out = torch.empty((batch, 2, length), device=slots.device)
    grid = (triton.cdiv(length, _BLOCK), batch)
    columns = tuple(column.contiguous() for column in columns)
    with torch.cuda.device_of(slots):
        _mixing[grid](slots, *columns, out, n_rows, slots.shape[1], length, block=_BLOCK)
    return out


def resampling(
    sources: torch.Tensor, row: torch.Tensor, ratio: torch.Tensor, length: int, taps: int
) -> torch.Tensor:
    """See `training.synthesis.voices.resampled`."""
    out = torch.empty((len(row), length), device=sources.device)
    grid = (triton.cdiv(length, _BLOCK), len(row))
    with torch.cuda.device_of(sources):
        _resampling[grid](
            sources.contiguous(), row, ratio.double(), out, sources.shape[1], length,
            taps=taps, block=_BLOCK,
        )  # fmt: skip
    return out


def partials(
    f0: torch.Tensor, table: torch.Tensor, length: int, vibrato: float, limit_hz: float, rate: int
) -> torch.Tensor:
    """See `render`; table: (tones, partials, 9), its fields and two phases."""
    out = torch.empty((len(f0), length), device=f0.device)
    grid = (triton.cdiv(length, _BLOCK), len(f0))
    with torch.cuda.device_of(f0):
        _partials[grid](
            f0.contiguous(), table.contiguous(), out, table.shape[1], length, float(vibrato),
            float(limit_hz), float(rate), block=_BLOCK,
        )  # fmt: skip
    return out
