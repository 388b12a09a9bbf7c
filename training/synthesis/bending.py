"""Other strengths of partials, other starts and ends: notes of one instrument as of another.

All on whole voices, (n, SLOT) sound, key by key in `TIERS` loudnesses where these matter.
"""

import torch

from stackline.listen.piano.features import SAMPLE_RATE_HZ
from training.synthesis.clip_score import TIERS
from training.synthesis.tones import Draw, hertz

SLOT = 81920  # samples of one note


class Bending:
    """Changes that each draw their own amounts."""

    def __init__(self, draw: Draw) -> None:
        self.draw, self.device = draw, draw.device

    def brighter_when_louder(self, notes: torch.Tensor) -> torch.Tensor:
        """Softer tiers duller, each note's loudness kept."""
        slope = self.draw.number(0.3, 4.5)  # dB an octave for each tier below the loudest
        tier = torch.arange(len(notes), device=self.device) % TIERS
        hz = torch.fft.rfftfreq(SLOT, 1 / SAMPLE_RATE_HZ).to(self.device)
        octaves = torch.log2(hz.clamp(min=60) / 300)[None]
        out = torch.empty_like(notes)
        level = loudness(notes)
        for one in range(TIERS):
            rows = tier == one
            gain = 10 ** (-slope * (TIERS - 1 - one) * octaves / 20)
            out[rows] = torch.fft.irfft(torch.fft.rfft(notes[rows]) * gain, n=SLOT)
        return out * (level / loudness(out))

    def looped(self, notes: torch.Tensor) -> torch.Tensor:
        """From some moment on a stretch of each note again and again, dying away: no strikes."""
        draw, n = self.draw, len(notes)
        first = (10 ** draw.uniform(-0.6, 0.3, n, 1) * SAMPLE_RATE_HZ).long()
        size = (10 ** draw.uniform(-1.7, -0.1, n, 1) * SAMPLE_RATE_HZ).long()
        size = torch.minimum(size, first // 2)
        t = torch.arange(SLOT, device=self.device)[None]
        turns = torch.div((t - first).clamp(min=0), size, rounding_mode="floor")
        turns = turns + (t >= first)
        level = notes.abs().square().cumsum(dim=1)
        ends = level.gather(1, first) - level.gather(1, first - size // 4)
        starts = level.gather(1, first - size + size // 4) - level.gather(1, first - size)
        keep = (ends / starts.clamp(min=1e-9)).clamp(0.01, 1.0).sqrt()  # over one loop
        keep = keep ** draw.number(0.7, 1.0)
        late = (t - first).clamp(min=0) / size
        return notes.gather(1, t - turns * size) * torch.where(
            t >= first, keep ** (late + 0.5), 1.0
        )

    def quiet_start(self, notes: torch.Tensor) -> torch.Tensor:
        """A ramp, or a transient some dB down."""
        draw = self.draw
        t = torch.arange(SLOT, device=self.device) / SAMPLE_RATE_HZ
        if draw.chance(0.5):
            shape = (t / draw.number(0.005, 0.030)).clamp(max=1)
        else:
            less = 1 - 10 ** (-draw.number(3, 18) / 20)
            shape = 1 - less * torch.exp(-t / draw.number(0.008, 0.04))
        return notes * shape

    def bent(self, notes: torch.Tensor, keys: torch.Tensor, gently: bool = False) -> torch.Tensor:
        """Notes through random curves over harmonics and over frequency, level kept.

        The curve of a note's start is not that of its ring: one gives way to the other.
        """
        draw = self.draw
        spectrum = torch.fft.rfft(notes)
        hz = torch.fft.rfftfreq(SLOT, 1 / SAMPLE_RATE_HZ).to(self.device)
        harmonic = (hz[None] / hertz(keys.float())[:, None]).clamp(0.5, 23.49)
        tilt_db = draw.number(-4, 2) * torch.log2(hz.clamp(min=60) / 500)[None]
        curve = self._gentle_curve(len(keys)) if gently else self._curve(len(keys))

        def through(curve: torch.Tensor) -> torch.Tensor:
            low = harmonic.floor().long()
            part = harmonic - low
            gain_db = curve.gather(1, low) * (1 - part) + curve.gather(1, low + 1) * part
            gain_db = gain_db + tilt_db
            return torch.fft.irfft(spectrum * 10 ** (gain_db / 20), n=SLOT)

        octaves, sets_in_s = self._like_octaves(len(keys)), None
        if gently and draw.chance(0.5):
            octaves = None
        if octaves is not None and draw.chance(0.5):
            sets_in_s = draw.uniform(0.15, 0.6, len(keys), 1)
        later = curve if octaves is None else curve + octaves
        bent = through(curve if sets_in_s is not None else later)
        t = torch.arange(SLOT, device=self.device) / SAMPLE_RATE_HZ
        if sets_in_s is not None or draw.chance(0.6):
            changes_db = draw.number(0.5, 2) if gently else draw.number(1, 5)
            ring = through(later + draw.normal(changes_db, len(keys), 25))
            fades_s = 10 ** draw.uniform(-1.3, 0.0, len(keys), 1)
            first = torch.exp(-t[None] / (fades_s if sets_in_s is None else sets_in_s))
            bent = bent * first + ring * (1 - first)
        bent = bent * (loudness(notes) / loudness(bent))
        if draw.chance(0.25):  # a drier instrument
            bent = bent * torch.exp(-t * draw.number(0, 2.5))
        return bent

    def _like_octaves(self, n: int) -> torch.Tensor | None:
        """In half of the voices some keys sound an octave higher: their odd partials are weak."""
        draw = self.draw
        if not draw.chance(0.5):
            return None
        share = draw.number(0.05, 0.15)
        some = draw.uniform(0, 1, -(-n // TIERS)) < share
        weaker = draw.uniform(6, 28, n, 1) * some.repeat_interleave(TIERS)[:n, None]
        odd = torch.zeros((n, 25), device=self.device)
        odd[:, 1::2] -= weaker
        return odd

    def _gentle_curve(self, n: int) -> torch.Tensor:
        """As `_curve`, no further than one good piano is from another."""
        draw = self.draw
        curve = draw.normal(draw.number(0.5, 4), 1, 25) + draw.normal(draw.number(0.3, 2.5), n, 25)
        if draw.chance(0.3):  # some keys are like octaves
            some = draw.uniform(0, 1, n, 1) < 0.08
            curve[:, 2::2] += draw.uniform(0, 12, n, 1) * some
        return curve

    def _curve(self, n: int) -> torch.Tensor:
        """Gains in dB of partials 0 to 24 (0 stands for what lies below the first), (n, 25)."""
        draw = self.draw
        curve = draw.normal(draw.number(0.5, 5), 1, 25) + draw.normal(draw.number(1, 8), n, 25)
        if draw.chance(0.6):  # single notes that sound like octaves or twelfths, and are none
            for step, share in ((2, 0.25), (3, 0.12)):
                some = draw.uniform(0, 1, n, 1) < share
                boost = draw.uniform(0, 14, n, 1) * draw.uniform(0.2, 1, n, 25)
                boost[:, step] = draw.uniform(0, 14, n)
                curve[:, step::step] += (boost * some)[:, step::step]
        if draw.chance(0.3):
            curve[:, :2] -= draw.number(0, 18)  # weak fundamentals
        if draw.chance(0.3):
            curve[:, 2] += draw.number(0, 12)  # second partials like octaves
        if draw.chance(0.2):
            curve[:, 3] += draw.number(0, 12)  # third partials like twelfths
        if draw.chance(0.15):
            curve[:, 4] += draw.number(0, 12)
        return curve


def loudness(notes: torch.Tensor) -> torch.Tensor:
    """RMS of the first 0.4 s, (n, 1)."""
    return notes[:, :6400].square().mean(dim=1, keepdim=True).sqrt().clamp(min=1e-5)
