"""From clean stems to what a microphone, a room and a telephone make of them.

Every clip draws its own chain: detuning of the whole, room, level of what plays along,
voices, applause, hum and hiss, tone control, compressor or automatic gain, telephone band,
overload, lossy coding, level. A fifth of the clips has none of these. No step moves a strike in
time.

Reverberation is noise that decays (J. A. Moorer, Computer Music Journal 3, 1979) behind a
few early reflections.
"""

from collections.abc import Callable

import torch

from stackline.listen.piano.features import SAMPLE_RATE_HZ
from training.synthesis.resampling import resampled
from training.synthesis.tones import Draw

SPARE = 2560  # samples that a clip is mixed longer, so that it can be detuned
_PLAIN = 0.22  # share of clips that are as they were played, dry and without noise
_LOUD = 0.1  # RMS of the loudest 64 ms of a take as the ear sets it
Chain = Callable[
    [torch.Tensor, torch.Tensor, torch.Tensor, int, torch.Tensor], torch.Tensor
]  # see `Conditions.__call__`


class Conditions:
    """Recording conditions for batches. speech: (n, samples) of talk, or None."""

    def __init__(self, rng: torch.Generator, speech: torch.Tensor | None) -> None:
        self.draw, self.device, self.speech = Draw(rng), rng.device, speech

    def __call__(
        self,
        stems: torch.Tensor,
        detune: torch.Tensor,
        backing_db: torch.Tensor,
        length: int,
        first: torch.Tensor,
    ) -> torch.Tensor:
        """Stems (batch, 2, length + SPARE) to (batch, length) sound.

        detune: cents; strikes move from t to t / 2 ** (cents / 1200). backing_db: level of
        the second stem, and of talk, against the first. first: (batch,) sample of the first
        strike, detuned; `length` where nobody plays.
        """
        batch = len(stems)
        ratio = (2 ** (detune / 1200)).repeat_interleave(2)
        flat = stems.reshape(batch * 2, -1)
        rows = torch.arange(batch * 2, device=self.device)
        stems = resampled(flat, rows, ratio, length).reshape(batch, 2, length)
        plain = self._plain(stems, backing_db)
        stems = self._rooms(stems)
        stems[:, 0] *= self._tremolo(batch, length, share=0.12)
        level = _rms(stems[:, 0])
        silent = level < 1e-4
        level = torch.where(silent, torch.full_like(level, 0.05), level)
        backing = stems[:, 1] * (level * 10 ** (backing_db / 20) / _rms(stems[:, 1]))[:, None]
        sound = stems[:, 0] + backing
        sound = sound + self._talk(batch, length, silent) * level[:, None]
        sound = sound + self._applause(batch, length, silent) * level[:, None]
        sound = self._toned(sound, spread_db=3.5, share=0.6)
        sound = self._combed(sound, share=0.5)
        sound = self._thin(sound, share=0.3)
        sound = sound + self._noise(batch, length, _loud(sound, silent))
        sound = self._compressed(sound, share=0.3)
        sound = self._telephone(sound, share=0.28)
        sound = self._overloaded(sound, share=0.08)
        sound = self._coded(sound, share=0.12)
        left = self._some(_PLAIN, batch) & ~silent
        sound = torch.where(left[:, None], plain, sound)
        sound = self._begun(sound, first)
        return sound * self._gain(sound, silent)[:, None]

    def _plain(self, stems: torch.Tensor, backing_db: torch.Tensor) -> torch.Tensor:
        """The stems at their levels and nothing else, (batch, length)."""
        level = _rms(stems[:, 0]) * 10 ** (backing_db / 20) / _rms(stems[:, 1])
        return stems[:, 0] + stems[:, 1] * level[:, None]

    def _begun(self, sound: torch.Tensor, first: torch.Tensor) -> torch.Tensor:
        """In some clips the recording begins within the clip, before the first strike.

        What sounds then (hum, talk, a room) sets in at once, as it does where a file begins,
        and is no strike.
        """
        batch, length = sound.shape
        at = torch.arange(length, device=self.device)
        start = (self.draw.uniform(0, 1, batch) * (first - 1600)).clamp(min=0)
        share = torch.where(first >= length, 0.5, 0.15)
        begins = self.draw.uniform(0, 1, batch) < share
        silent = begins[:, None] & (at[None] < start[:, None])
        return torch.where(silent, torch.zeros_like(sound), sound)

    def _some(self, share: float, batch: int) -> torch.Tensor:
        """True for about `share` of the clips, shape (batch,)."""
        return self.draw.uniform(0, 1, batch) < share

    def _rooms(self, stems: torch.Tensor) -> torch.Tensor:
        """Convolve about half of the clips with rooms of their own, both stems with one."""
        batch, _, length = stems.shape
        draw, size = self.draw, 36000
        t = torch.arange(size, device=self.device) / SAMPLE_RATE_HZ
        rt60 = 10 ** draw.uniform(-0.85, 0.2, batch, 1)
        halls = 10 ** draw.uniform(-0.3, 0.48, batch, 1)
        rt60 = torch.where(self._some(0.35, batch)[:, None], halls, rt60)
        start = draw.uniform(0.005, 0.04, batch, 1)
        ends = (t[None] > start).float()
        tail = draw.normal(1.0, batch, size) * torch.exp(-6.9 * t / rt60) * ends
        dull = draw.normal(1.0, batch, size) * torch.exp(-6.9 * t / (rt60 * 0.4)) * ends
        tail = _one_pole(tail, draw.uniform(0.1, 0.7, batch, 1)) + 0.3 * dull
        early = torch.zeros((batch, size), device=self.device)
        places = (draw.uniform(0.002, 0.06, batch, 9) * SAMPLE_RATE_HZ).long()
        fainter = 0.02 / (places / SAMPLE_RATE_HZ + 0.02)
        early.scatter_add_(1, places, draw.normal(0.35, batch, 9) * fainter)
        wet_db = draw.uniform(-18, 5, batch, 1)
        tail = tail / tail.square().sum(dim=1, keepdim=True).sqrt().clamp(min=1e-6)
        response = early * draw.uniform(0, 1, batch, 1) + tail * 10 ** (wet_db / 20)
        response = response * self._some(0.55, batch)[:, None]
        response[:, 0] += 1.0
        n = 1 << (length + size - 1).bit_length()
        wet = torch.fft.rfft(stems, n=n) * torch.fft.rfft(response, n=n)[:, None]
        return torch.fft.irfft(wet, n=n)[..., :length]

    def _tremolo(self, batch: int, length: int, share: float) -> torch.Tensor:
        """Slow and fast swelling of the whole instrument: no strike."""
        draw = self.draw
        t = torch.arange(length, device=self.device)[None] / SAMPLE_RATE_HZ
        hz = 10 ** draw.uniform(0.2, 0.95, batch, 1)
        depth = draw.uniform(0.1, 0.75, batch, 1) * self._some(share, batch)[:, None]
        return 1 - depth * (
            0.5 + 0.5 * torch.sin(6.28318 * hz * t + draw.uniform(0, 6.28, batch, 1))
        )

    def _talk(self, batch: int, length: int, silent: torch.Tensor) -> torch.Tensor:
        """People talking, in few clips with piano and in many without; RMS against 1."""
        out = torch.zeros((batch, length), device=self.device)
        if self.speech is None:
            return out
        draw = self.draw
        row = (draw.uniform(0, 1, batch) * len(self.speech)).long().clamp(max=len(self.speech) - 1)
        spare = self.speech.shape[1] - length
        start = (draw.uniform(0, 1, batch) * spare).long()
        at = start[:, None] + torch.arange(length, device=self.device)
        talk = self.speech[row[:, None], at]
        level = 10 ** (draw.uniform(-26, -2, batch) / 20) / _rms(talk)
        used = self._some(0.12, batch) | (silent & self._some(0.55, batch))
        return talk * (level * used)[:, None]

    def _applause(self, batch: int, length: int, silent: torch.Tensor) -> torch.Tensor:
        """Claps, taps and knocks: noise in bursts, a few or a crowd of them."""
        draw = self.draw
        dense = 10 ** draw.uniform(0.0, 2.2, batch, 1)  # claps a second
        hits = (draw.uniform(0, 1, batch, length) < dense / SAMPLE_RATE_HZ).float()
        hits = hits * draw.uniform(0.2, 1, batch, length)
        size = 2048
        t = torch.arange(size, device=self.device) / SAMPLE_RATE_HZ
        shape = torch.exp(-t / 10 ** draw.uniform(-2.6, -1.4, batch, 1))
        clap = draw.normal(1.0, batch, size) * shape
        clap = torch.where(self._some(0.4, batch)[:, None], _one_pole(clap, 0.8), clap)
        n = 1 << (length + size - 1).bit_length()
        sound = torch.fft.irfft(torch.fft.rfft(hits, n=n) * torch.fft.rfft(clap, n=n), n=n)
        sound = sound[:, :length]
        level = 10 ** (draw.uniform(-30, -6, batch) / 20) / _rms(sound)
        used = self._some(0.08, batch) | (silent & self._some(0.3, batch))
        return sound * (level * used)[:, None]

    def _noise(self, batch: int, length: int, loud: torch.Tensor) -> torch.Tensor:
        """Hiss of some colour, and hum of the mains with harmonics, against the loudest."""
        draw = self.draw
        n = length + length % 2
        hz = torch.fft.rfftfreq(n, 1 / SAMPLE_RATE_HZ).to(self.device).clamp(min=30)
        colour = draw.uniform(-1.2, 0.2, batch, 1)
        shape = (hz[None] / 1000) ** colour
        noise = draw.normal(1.0, batch, len(hz)) + 1j * draw.normal(1.0, batch, len(hz))
        hiss = torch.fft.irfft(noise * shape, n=n)[:, :length]
        ratio_db = torch.where(
            self._some(0.3, batch), draw.uniform(18, 40, batch), draw.uniform(38, 80, batch)
        )
        hiss = hiss / _rms(hiss)[:, None] * (loud * 10 ** (-ratio_db / 20))[:, None]
        t = torch.arange(length, device=self.device) / SAMPLE_RATE_HZ
        mains = torch.where(self._some(0.5, batch), 50.0, 60.0)[:, None]
        hum = torch.zeros((batch, length), device=self.device)
        for harmonic in (1, 2, 3, 5, 7):
            level = 10 ** (draw.uniform(-30, 0, batch, 1) / 20)
            phase = draw.uniform(0, 6.28, batch, 1)
            hum += level * torch.sin(6.28318 * harmonic * mains * t + phase)
        level = loud * 10 ** (draw.uniform(-55, -28, batch) / 20) * self._some(0.15, batch)
        return hiss + hum * level[:, None]

    def _toned(self, sound: torch.Tensor, spread_db: float, share: float) -> torch.Tensor:
        """A smooth random curve over ten half octaves and more."""
        draw, batch = self.draw, len(sound)
        nodes = draw.normal(spread_db, batch, 12) * self._some(share, batch)[:, None]
        return _through(sound, nodes, an_octave=11 / 8.1)

    def _combed(self, sound: torch.Tensor, share: float) -> torch.Tensor:
        """A rough curve, twelve nodes an octave, as rooms and microphones near a piano have it."""
        draw, batch = self.draw, len(sound)
        nodes = draw.normal(1.0, batch, 98) * draw.uniform(1.5, 4.5, batch, 1)
        return _through(sound, nodes * self._some(share, batch)[:, None], an_octave=12)

    def _thin(self, sound: torch.Tensor, share: float) -> torch.Tensor:
        """Less below 120 Hz."""
        draw, (batch, length) = self.draw, sound.shape
        less = draw.uniform(6, 24, batch, 1) * self._some(share, batch)[:, None]
        hz = torch.fft.rfftfreq(length, 1 / SAMPLE_RATE_HZ).to(self.device)[None]
        shape = 1 / (1 + (hz / 120) ** 4)
        return torch.fft.irfft(torch.fft.rfft(sound) * 10 ** (-less * shape / 20), n=length)

    def _compressed(self, sound: torch.Tensor, share: float) -> torch.Tensor:
        """Level control, from a fast compressor to the slow hand of a telephone."""
        draw, (batch, length) = self.draw, sound.shape
        block = 64
        usable = length // block * block
        power = sound[:, :usable].reshape(batch, -1, block).square().mean(dim=2)
        size = power.shape[1]
        t = torch.arange(size, device=self.device) * block / SAMPLE_RATE_HZ
        kernel = torch.exp(-t / 10 ** draw.uniform(-2.3, -0.2, batch, 1))
        kernel = kernel / kernel.sum(dim=1, keepdim=True)
        n = 2 * size
        smooth = torch.fft.irfft(torch.fft.rfft(power, n=n) * torch.fft.rfft(kernel, n=n), n=n)
        level_db = 10 * torch.log10(smooth[:, :size].clamp(min=1e-12))
        above = level_db - level_db.amax(dim=1, keepdim=True) + draw.uniform(3, 35, batch, 1)
        slope = draw.uniform(0.2, 0.9, batch, 1) * self._some(share, batch)[:, None]
        gain_db = -above.clamp(min=0) * slope
        gain = 10 ** (gain_db / 20)
        gain = torch.nn.functional.interpolate(gain[:, None], size=length, mode="linear")[:, 0]
        return sound * gain

    def _telephone(self, sound: torch.Tensor, share: float) -> torch.Tensor:
        """Nothing below 80 to 350 Hz, nothing above 3.3 to 7.9 kHz, bumps in between."""
        draw, (batch, length) = self.draw, sound.shape
        used = self._some(share, batch)
        hz = torch.fft.rfftfreq(length, 1 / SAMPLE_RATE_HZ).to(self.device).clamp(min=5)[None]
        low = 10 ** draw.uniform(1.9, 2.55, batch, 1)
        high = 10 ** draw.uniform(3.52, 3.9, batch, 1)
        order = draw.uniform(1, 6, batch, 2)
        shape = (1 + (low / hz) ** (2 * order[:, :1])) ** -0.5
        shape = shape * (1 + (hz / high) ** (2 * order[:, 1:] + 2)) ** -0.5
        for _ in range(3):
            centre = 10 ** draw.uniform(2.3, 3.7, batch, 1)
            bump = draw.normal(5, batch, 1) * torch.exp(-((torch.log2(hz / centre) * 2.5) ** 2))
            shape = shape * 10 ** (bump / 20)
        shape = torch.where(used[:, None], shape, torch.ones_like(shape))
        return torch.fft.irfft(torch.fft.rfft(sound) * shape, n=length)

    def _overloaded(self, sound: torch.Tensor, share: float) -> torch.Tensor:
        peak = sound.abs().amax(dim=1, keepdim=True).clamp(min=1e-6)
        drive = 10 ** (self.draw.uniform(-4, 12, len(sound), 1) / 20) / peak
        hot = torch.tanh(sound * drive) / drive
        return torch.where(self._some(share, len(sound))[:, None], hot, sound)

    def _coded(self, sound: torch.Tensor, share: float) -> torch.Tensor:
        """What lossy coding does: lines far below their neighbours fall away, come and go."""
        rows = torch.nonzero(self._some(share, len(sound)))[:, 0]
        if not len(rows):
            return sound
        taper = torch.hann_window(1024, device=self.device)
        options = {"n_fft": 1024, "hop_length": 256, "window": taper}
        lines = torch.stft(sound[rows], return_complex=True, **options)
        power = lines.abs().square()
        around = torch.nn.functional.avg_pool2d(power, (31, 1), stride=1, padding=(15, 0))
        limit = 10 ** (-self.draw.uniform(12, 30, len(rows), 1, 1) / 10)
        kept = torch.istft(lines * (power > around * limit), length=sound.shape[1], **options)
        out = sound.clone()
        out[rows] = kept
        return out

    def _gain(self, sound: torch.Tensor, silent: torch.Tensor) -> torch.Tensor:
        """Level as the ear would set it, give or take; part of a soft passage; or no piano."""
        draw, batch = self.draw, len(sound)
        level_db = draw.normal(4, batch)
        soft = self._some(0.3, batch)
        level_db = level_db - soft * draw.uniform(0, 26, batch)
        level_db = level_db - silent * draw.uniform(0, 40, batch) * self._some(0.6, batch)
        return 10 ** (level_db / 20) * _LOUD / _loud(sound, torch.zeros_like(silent))


def as_it_is(
    stems: torch.Tensor,
    detune: torch.Tensor,
    backing_db: torch.Tensor,
    length: int,
    first: torch.Tensor,
) -> torch.Tensor:
    """No conditions: the stems added at their levels, as loud as the ear sets a take."""
    del detune, first  # a clean take is in tune, and begins anywhere
    stems = stems[..., :length]
    level = _rms(stems[:, 0]) * 10 ** (backing_db / 20) / _rms(stems[:, 1])
    sound = stems[:, 0] + stems[:, 1] * level[:, None]
    return sound * (_LOUD / _loud(sound, torch.zeros_like(level, dtype=torch.bool)))[:, None]


def _through(sound: torch.Tensor, nodes_db: torch.Tensor, an_octave: float) -> torch.Tensor:
    """Sound through a curve given in dB at so many places an octave from 30 Hz up."""
    hz = torch.fft.rfftfreq(sound.shape[1], 1 / SAMPLE_RATE_HZ).to(sound.device)
    last = nodes_db.shape[1] - 1.001
    place = (torch.log2(hz.clamp(min=31) / 30) * an_octave).clamp(0, last)
    low = place.floor().long()
    part = (place - low)[None]
    gain_db = nodes_db[:, low] * (1 - part) + nodes_db[:, low + 1] * part
    return torch.fft.irfft(torch.fft.rfft(sound) * 10 ** (gain_db / 20), n=sound.shape[1])


def _rms(sound: torch.Tensor) -> torch.Tensor:
    return sound.square().mean(dim=1).sqrt().clamp(min=1e-6)


def _loud(sound: torch.Tensor, silent: torch.Tensor) -> torch.Tensor:
    """RMS of the loudest 64 ms of each clip (0.1 where there is no piano)."""
    usable = sound.shape[1] // 1024 * 1024
    blocks = sound[:, :usable].reshape(len(sound), -1, 1024).square().mean(dim=2)
    loud = blocks.amax(dim=1).sqrt().clamp(min=1e-5)
    return torch.where(silent, torch.full_like(loud, _LOUD), loud)


def _one_pole(sound: torch.Tensor, amount: torch.Tensor | float) -> torch.Tensor:
    """A gentle low-pass over frequency; amount 0 (none) to 1."""
    n = sound.shape[-1]
    hz = torch.fft.rfftfreq(n, 1 / SAMPLE_RATE_HZ).to(sound.device)
    shape = 1 / (1 + amount * 6 * hz / 2000)
    return torch.fft.irfft(torch.fft.rfft(sound) * shape, n=n)
