"""Tones made of partials: struck strings, tines, reeds, plucked strings, sung vowels.

A network that has heard nine sampled pianos knows nine pianos. These have their physics,
not their recordings: partials k of a stiff string at ``k f0 sqrt(1 + B k^2)`` (Fletcher,
J. Acoust. Soc. Am. 36, 1964), levels falling with k, dips where the hammer strikes, two
rates of decay and beats between the strings of a note (Weinreich, J. Acoust. Soc. Am. 62,
1977), and the knock of the key bed. Every constant is drawn, far wider than real pianos
have it.
"""

from dataclasses import dataclass

import torch

from stackline.listen.piano.features import SAMPLE_RATE_HZ
from training.synthesis import kernels

_HIGHEST_HZ = 0.48 * SAMPLE_RATE_HZ


@dataclass(frozen=True, kw_only=True, eq=False)
class Recipe:
    """One voice's partials. First axis: tones; second: partials.

    ratio: of the partial to f0. level: amplitude. decay, slow: per second, of the first
    and the second part of its decay. slow_share: of the second part. beat_hz, beat_depth:
    of the beating. rise_s: time constant of the start, per tone. vibrato: relative depth.
    """

    f0: torch.Tensor
    ratio: torch.Tensor
    level: torch.Tensor
    decay: torch.Tensor
    slow: torch.Tensor
    slow_share: torch.Tensor
    beat_hz: torch.Tensor
    beat_depth: torch.Tensor
    rise_s: torch.Tensor
    vibrato: float = 0.0


def render(recipe: Recipe, length: int, rng: torch.Generator) -> torch.Tensor:
    """Sound of a recipe, (tones, length) float32."""
    device = recipe.f0.device
    phases = torch.rand((*recipe.ratio.shape, 2), generator=rng, device=device) * 6.2832
    fields = (recipe.ratio, recipe.level, recipe.decay, recipe.slow, recipe.slow_share,
              recipe.beat_hz, recipe.beat_depth, phases[..., 0], phases[..., 1])  # fmt: skip
    table = torch.stack(fields, dim=2)
    if kernels.usable(table):
        sound = kernels.partials(
            recipe.f0, table, length, recipe.vibrato, _HIGHEST_HZ, SAMPLE_RATE_HZ
        )
    else:
        sound = render_plainly(recipe.f0, table, length, recipe.vibrato)
    t = torch.arange(length, device=device) / SAMPLE_RATE_HZ
    return sound * (1 - torch.exp(-t / recipe.rise_s[:, None]))


def render_plainly(
    f0: torch.Tensor, table: torch.Tensor, length: int, vibrato: float
) -> torch.Tensor:
    """Partials added one by one. table: (tones, partials, 9), see `render`."""
    t = torch.arange(length, device=f0.device) / SAMPLE_RATE_HZ
    wobble = t.double() + (vibrato / (5.5 * 6.283) * torch.sin(6.283 * 5.5 * t)).double()
    sound = torch.zeros((len(f0), length), device=f0.device)
    for column in table.unbind(dim=1):
        hz = f0 * column[:, 0]
        rows = torch.nonzero(hz < _HIGHEST_HZ)[:, 0]
        _, level, decay, slow, share, beat_hz, depth, phase, beat_phase = (
            column[rows].T[..., None].unbind(dim=0)
        )
        # phase in turns, wrapped, so that float32 stays exact late in the tone
        turns = torch.frac(hz[rows].double()[:, None] * wobble).float()
        envelope = (1 - share) * torch.exp(-decay * t) + share * torch.exp(-slow * t)
        beating = torch.cos(6.2832 * beat_hz * t + beat_phase)
        envelope = envelope * (1 + depth * beating) / (1 + depth) * level
        sound[rows] += envelope * torch.sin(6.2832 * turns + phase)
    return sound


class Draw:
    """Short words for random numbers on one device."""

    def __init__(self, rng: torch.Generator) -> None:
        self.rng, self.device = rng, rng.device

    def uniform(self, low: float, high: float, *shape: int) -> torch.Tensor:
        return torch.rand(shape, generator=self.rng, device=self.device) * (high - low) + low

    def normal(self, spread: float, *shape: int) -> torch.Tensor:
        return torch.randn(shape, generator=self.rng, device=self.device) * spread

    def number(self, low: float, high: float) -> float:
        return float(self.uniform(low, high, 1))

    def chance(self, p: float) -> bool:
        return self.number(0, 1) < p

    def whole(self, below: int) -> int:
        return min(int(self.number(0, below)), below - 1)


def hertz(keys: torch.Tensor) -> torch.Tensor:
    """Frequencies of (fractional) MIDI keys."""
    return 440.0 * 2.0 ** ((keys - 69) / 12)


def struck_strings(keys: torch.Tensor, loudness: torch.Tensor, draw: Draw) -> Recipe:
    """A piano that never was. keys: fractional MIDI; loudness: 0..1, both (tones,)."""
    n, partials = len(keys), 36
    k = torch.arange(1, partials + 1, device=keys.device)[None].float()
    stiff = 10 ** (-3.9 + 0.03 * (keys - 40).clamp(min=-12) + draw.number(-0.5, 0.4))
    ratio = k * torch.sqrt(1 + stiff[:, None] * k**2)
    ratio = ratio / ratio[:, :1] * (1 + draw.normal(0.0003, n, partials))
    fall = draw.number(2.5, 9) + (1 - loudness) * draw.number(0, 6)  # dB an octave
    level_db = -fall[:, None] * torch.log2(k) + draw.normal(draw.number(1, 5), n, partials)
    level_db = level_db + draw.normal(draw.number(0, 5), 1, partials)
    place = draw.number(0.06, 0.2)
    level = 10 ** (level_db / 20) * (0.12 + torch.sin(torch.pi * k * place).abs())
    level = level * (0.25 + torch.rand((), device=keys.device, generator=draw.rng))
    f0 = hertz(keys)
    slowest = 0.35 * 2 ** ((keys - 40) / draw.number(9, 20)) * draw.number(0.6, 2.5)
    decay = slowest[:, None] * (1 + (f0[:, None] * ratio / 1500) ** draw.number(0.5, 1.2))
    decay = decay * torch.exp(draw.normal(0.35, n, partials))
    return Recipe(
        f0=f0,
        ratio=ratio,
        level=level,
        decay=decay * draw.number(1, 4),
        slow=decay * draw.number(0.2, 0.9),
        slow_share=draw.uniform(0.05, 0.7, n, partials),
        beat_hz=draw.uniform(0.05, 1, n, partials) * draw.number(0.2, 2) * k.sqrt(),
        beat_depth=draw.uniform(0, 1, n, partials) * draw.number(0, 0.8),
        rise_s=torch.full((n,), draw.number(0.0005, 0.003), device=keys.device),
    )


def tines_or_reeds(keys: torch.Tensor, loudness: torch.Tensor, draw: Draw) -> Recipe:
    """An electric piano that never was: harmonic, with a bell over it or a growl in it."""
    n, partials = len(keys), 16
    k = torch.arange(1, partials + 1, device=keys.device)[None].float()
    ratio = k.repeat(n, 1)
    steep = draw.number(6, 18) - loudness * draw.number(0, 6)
    level_db = -steep[:, None] * torch.log2(k) + draw.normal(draw.number(1, 4), 1, partials)
    level_db = level_db + draw.normal(1.5, n, partials)
    even = draw.number(-14, 8)
    level_db[:, 1::2] += even
    decay = draw.number(0.4, 2.5) * 2 ** ((keys[:, None] - 60) / draw.number(14, 40)) * k**0.5
    decay = decay.repeat(1, 1) * torch.exp(draw.normal(0.2, n, partials))
    bells = 3  # the last partials become the tine's own, which fit no harmonic
    ratio[:, -bells:] = torch.tensor([6.27, 9.0, 17.5], device=keys.device) * draw.number(0.8, 1.2)
    level_db[:, -bells:] = draw.number(-40, -8) + draw.normal(4, 1, bells)
    decay[:, -bells:] = draw.number(4, 25)
    return Recipe(
        f0=hertz(keys),
        ratio=ratio,
        level=0.5 * 10 ** (level_db / 20),
        decay=decay,
        slow=decay * draw.number(0.4, 0.9),
        slow_share=draw.uniform(0.2, 0.9, n, partials),
        beat_hz=torch.full((n, partials), draw.number(0.5, 7), device=keys.device),
        beat_depth=torch.full((n, partials), draw.number(0, 0.25), device=keys.device),
        rise_s=torch.full((n,), draw.number(0.0005, 0.006), device=keys.device),
    )


def plucked_bass(keys: torch.Tensor, draw: Draw) -> Recipe:
    """A bass string: hardly stiff, dull, fast in its upper partials."""
    n, partials = len(keys), 20
    k = torch.arange(1, partials + 1, device=keys.device)[None].float()
    ratio = k * torch.sqrt(1 + draw.number(1e-5, 2e-4) * k**2)
    level_db = -draw.number(5, 14) * torch.log2(k) + draw.normal(4, n, partials)
    decay = draw.number(0.6, 2.5) * k ** draw.number(0.4, 1.1) + draw.uniform(0, 1, n, partials)
    return Recipe(
        f0=hertz(keys),
        ratio=ratio.repeat(n, 1),
        level=0.5 * 10 ** (level_db / 20),
        decay=decay * 2,
        slow=decay * 0.5,
        slow_share=draw.uniform(0.1, 0.7, n, partials),
        beat_hz=draw.uniform(0.1, 1, n, partials),
        beat_depth=draw.uniform(0, 0.2, n, partials),
        rise_s=torch.full((n,), draw.number(0.003, 0.02), device=keys.device),
    )


def sung(keys: torch.Tensor, draw: Draw) -> Recipe:
    """A voice or a wind: harmonic, steady, through formants, with vibrato."""
    n, partials = len(keys), 30
    k = torch.arange(1, partials + 1, device=keys.device)[None].float()
    hz = hertz(keys)[:, None] * k
    level_db = -draw.number(5, 11) * torch.log2(k)
    for formant in (draw.number(300, 900), draw.number(900, 2300), draw.number(2300, 3400)):
        level_db = level_db + draw.number(8, 22) * torch.exp(-(((hz - formant) / 160) ** 2))
    flat = torch.zeros((n, partials), device=keys.device)
    return Recipe(
        f0=hertz(keys),
        ratio=k.repeat(n, 1),
        level=0.2 * 10 ** (level_db / 20),
        decay=flat + draw.number(0, 0.6),
        slow=flat,
        slow_share=flat,
        beat_hz=flat + 5.0,
        beat_depth=flat + draw.number(0, 0.2),
        rise_s=torch.full((n,), draw.number(0.01, 0.08), device=keys.device),
        vibrato=draw.number(0, 0.012),
    )


def knock(n: int, length: int, draw: Draw) -> torch.Tensor:
    """The thump of key and hammer: short noise through a few modes, (n, length)."""
    t = torch.arange(length, device=draw.device) / SAMPLE_RATE_HZ
    noise = torch.randn((n, length), generator=draw.rng, device=draw.device)
    spectrum = torch.fft.rfft(noise)
    hz = torch.fft.rfftfreq(length, 1 / SAMPLE_RATE_HZ).to(draw.device)
    centre, width = draw.number(80, 900), draw.number(0.4, 1.5)
    shape = torch.exp(-((torch.log2(hz.clamp(min=20) / centre) / width) ** 2))
    thump = torch.fft.irfft(spectrum * shape, n=length)
    thump = thump * torch.exp(-t / draw.number(0.006, 0.04))
    return thump / thump.square().mean(dim=1, keepdim=True).sqrt().clamp(min=1e-9)


def struck_metal_or_skin(draw: Draw, length: int) -> torch.Tensor:
    """A drum or a cymbal that never was: (1, length), partials of no series, and noise."""
    t = torch.arange(length, device=draw.device)[None] / SAMPLE_RATE_HZ
    metal = draw.chance(0.55)
    count = 60 if metal else 6
    lowest = draw.number(300, 1500) if metal else draw.number(45, 260)
    hz = lowest * 2 ** draw.uniform(0, 4.5 if metal else 2.2, count, 1)
    hz[0] = lowest
    decay = 10 ** draw.uniform(-0.3, 0.9 if metal else 1.4, count, 1)
    level = 10 ** (draw.normal(6, count, 1) / 20)
    bend = 1 if metal else 1 + draw.number(0, 0.6) * torch.exp(-t / 0.03)
    turns = torch.cumsum(hz * bend / SAMPLE_RATE_HZ * torch.ones_like(t), dim=1)
    tones = (
        level * torch.exp(-decay * t) * torch.sin(6.2832 * turns + draw.uniform(0, 6.28, count, 1))
    )
    tones = torch.where(hz < _HIGHEST_HZ, tones, 0).sum(dim=0, keepdim=True)
    spectrum = torch.fft.rfft(draw.normal(1.0, 1, length))
    lines = torch.fft.rfftfreq(length, 1 / SAMPLE_RATE_HZ).to(draw.device).clamp(min=20)
    centre, width = 10 ** draw.number(2.5, 3.85), draw.number(0.5, 2.0)
    shape = torch.exp(-((torch.log2(lines / centre) / width) ** 2))
    noise = torch.fft.irfft(spectrum * shape, n=length)
    swell = 1 - torch.exp(-t / 10 ** draw.number(-3.3, -1.0))
    noise = noise * swell * torch.exp(-t / 10 ** draw.number(-1.8, 0.0))
    loud = [x.square().mean().sqrt().clamp(min=1e-9) for x in (tones, noise)]
    return tones / loud[0] + noise / loud[1] * 10 ** (draw.number(-15, 15) / 20)
