"""The orchestra on the GPU: single notes of many voices, renewed all through the training.

A voice of the piano is 88 keys in three loudnesses: a sampled piano or electric piano, a
mixture of two, or synthetic partials; each with a spectrum bent by its own random curve and
every note by another, so that a key's second partial may tower over its first, as octaves
do; with its own stretch, its own decay. Each is used for some hundred clips, then replaced.
Beside them stand what is not to be heard: basses, drums, leads.

Everything is one tensor of slots, one note each, so that mixing is adding rows.
"""

import torch

from fixtures.sounded.bank import Bank, Instrument, Layer
from stackline.listen.piano.features import SAMPLE_RATE_HZ
from stackline.shared.units import LOWEST_MIDI, N_KEYS
from training.synthesis import kernels
from training.synthesis.scores import BASS, BASS_KEYS, DRUMS, LEAD, LEAD_KEYS, PIANO, TIERS
from training.synthesis.tones import (
    Draw,
    Recipe,
    hertz,
    knock,
    plucked_bass,
    render,
    struck_strings,
    sung,
    tines_or_reeds,
)

SLOT = 81920  # samples of one note
_FADE = 4000
TIER_VELOCITY = (35, 70, 105)
_SUNG_OUT_DB = -38.0  # a note this far below its loudest has stopped sounding


class Orchestra:
    """Slots of all voices. n_voices: of pianos; there are fewer of the others."""

    def __init__(self, bank: Bank, n_voices: int, rng: torch.Generator) -> None:
        self.bank, self.rng, self.draw = bank, rng, Draw(rng)
        self.device = rng.device
        self.n_voices = {PIANO: n_voices, BASS: 8, DRUMS: 96, LEAD: 8}
        self.n_keys = {PIANO: N_KEYS, BASS: len(BASS_KEYS), DRUMS: 1, LEAD: len(LEAD_KEYS)}
        self.tiers = {PIANO: TIERS, BASS: 1, DRUMS: 1, LEAD: 1}
        self.lowest = {PIANO: LOWEST_MIDI, BASS: BASS_KEYS[0], DRUMS: 0, LEAD: LEAD_KEYS[0]}
        self.start, total = {}, 0
        for part in (PIANO, BASS, DRUMS, LEAD):
            self.start[part] = total
            total += self.n_voices[part] * self.n_keys[part] * self.tiers[part]
        self.slots = torch.zeros((total, SLOT), device=self.device)
        self.ring = torch.zeros(total, dtype=torch.int32, device=self.device)
        self._layers: dict[int, torch.Tensor] = {}
        self._turn = 0

    def fill(self) -> None:
        """Make every voice once."""
        for part, count in self.n_voices.items():
            for voice in range(count):
                self.renew(part, voice)

    def renew_next(self) -> None:
        """Replace the oldest voice; one of the others each fourth time."""
        self._turn += 1
        part = PIANO
        if self._turn % 4 == 0:
            part = (BASS, DRUMS, LEAD, DRUMS)[self._turn // 4 % 4]
        self.renew(part, self._turn // (1 if part == PIANO else 16) % self.n_voices[part])

    def renew(self, part: int, voice: int) -> None:
        """Draw one voice anew."""
        make = {PIANO: self.piano, BASS: self._bass, DRUMS: self._drum, LEAD: self._lead}[part]
        self.place(part, voice, make())

    def place(self, part: int, voice: int, notes: torch.Tensor) -> None:
        """Put all notes of a voice into its slots."""
        notes = _faded(notes)
        start = self.start[part] + voice * len(notes)
        self.slots[start : start + len(notes)] = notes
        self.ring[start : start + len(notes)] = _ring(notes)

    def slot(self, part: torch.Tensor, key: torch.Tensor, tier: torch.Tensor, voice: torch.Tensor):
        """Slot numbers of notes; `voice` counts in 2**-20 of all there are."""
        found = torch.zeros_like(key)
        for one, count in self.n_voices.items():
            row = torch.div(voice * count, 1 << 20, rounding_mode="floor").clamp(0, count - 1)
            place = (row * self.n_keys[one] + key - self.lowest[one]) * self.tiers[one] + tier
            found = torch.where(part == one, self.start[one] + place, found)
        return found

    # voices of the piano

    def piano(self) -> torch.Tensor:
        """A new piano voice: (88 * 3, SLOT), key by key, three loudnesses each."""
        draw = self.draw
        keys = torch.arange(N_KEYS, device=self.device).repeat_interleave(TIERS) + LOWEST_MIDI
        detune = self._stretch(keys)
        kind = draw.number(0, 1)
        if kind < 0.66:
            roles = ("electric_piano",) if kind < 0.10 else ("piano",)
            notes = self.sampled(self._pick(*roles), keys, detune)
            if draw.chance(0.25):
                other = self.sampled(self._pick("piano", "electric_piano"), keys, detune)
                notes = notes + 10 ** (-draw.number(3, 20) / 20) * other
        else:
            notes = self._synthetic(keys, detune, struck=kind < 0.90)
        if draw.chance(0.8):
            notes = self.bent(notes, keys)
        return notes * 10 ** (draw.normal(1.0, len(notes), 1) / 20)

    def _stretch(self, keys: torch.Tensor) -> torch.Tensor:
        """Cents of each key: a fine piano, a neglected one, or worse (35 at most)."""
        spread = (1.0, 3.0, 8.0, 14.0)[self.draw.whole(4)]
        per_key = self.draw.normal(spread, N_KEYS).repeat_interleave(TIERS)
        slope = self.draw.number(-0.3, 0.3) * (keys - 64).float() / 4
        return (per_key + slope).clamp(-35, 35)

    def _pick(self, *roles: str) -> Instrument:
        choice = self.bank.of_role(*roles)
        return choice[self.draw.whole(len(choice))]

    def sampled(
        self, instrument: Instrument, keys: torch.Tensor, detune: torch.Tensor, vary: bool = True
    ) -> torch.Tensor:
        """Notes of a sampled instrument; with `vary` from any of its layers and zones."""
        n = len(keys)
        tiers = torch.arange(n, device=self.device) % TIERS
        one_layer = vary and self.draw.chance(0.25)
        only = self.draw.whole(len(instrument.layers))
        reach = 3.0 if vary and self.draw.chance(0.35) else 0.0
        wanted = keys + self.draw.normal(reach, n) if reach else keys.float()
        out = torch.zeros((n, SLOT), device=self.device)
        for tier in range(TIERS):
            rows = torch.nonzero(tiers == tier)[:, 0]
            layer = instrument.layers[only] if one_layer else _nearest(instrument, tier)
            out[rows] = self._from_layer(layer, keys[rows], wanted[rows], detune[rows])
        return out

    def _from_layer(
        self, layer: Layer, keys: torch.Tensor, wanted: torch.Tensor, detune: torch.Tensor
    ) -> torch.Tensor:
        """Notes for keys, each from the sample whose pitch is nearest to `wanted`."""
        pitches = torch.tensor(layer.pitches, device=self.device).float()
        zone = (wanted[:, None] - pitches[None]).abs().argmin(dim=1)
        ratio = 2 ** ((keys - pitches[zone]) / 12 + detune / 1200)
        return resampled(self._samples(layer), zone, ratio, SLOT)

    def _samples(self, layer: Layer) -> torch.Tensor:
        if id(layer) not in self._layers:
            self._layers[id(layer)] = torch.tensor(layer.notes, device=self.device)
        return self._layers[id(layer)]

    def _synthetic(self, keys: torch.Tensor, detune: torch.Tensor, struck: bool) -> torch.Tensor:
        draw = self.draw
        tiers = (torch.arange(len(keys), device=self.device) % TIERS + 0.5) / TIERS
        loudness = tiers if draw.chance(0.8) else torch.full_like(tiers, 0.5)
        make = struck_strings if struck else tines_or_reeds
        recipe: Recipe = make(keys + detune / 100, loudness, draw)
        notes = render(recipe, SLOT, self.rng)
        notes = notes * 0.14 / _loudness(notes)
        thump = knock(len(keys), 2400, draw) * 10 ** (-draw.number(18, 45) / 20)
        notes[:, :2400] += 0.5 * thump * (0.3 + tiers[:, None])
        return notes

    def bent(self, notes: torch.Tensor, keys: torch.Tensor) -> torch.Tensor:
        """Notes through random curves over harmonics and over frequency, level kept.

        The curve of a note's start is not that of its ring: one gives way to the other.
        """
        draw = self.draw
        spectrum = torch.fft.rfft(notes)
        hz = torch.fft.rfftfreq(SLOT, 1 / SAMPLE_RATE_HZ).to(self.device)
        harmonic = (hz[None] / hertz(keys.float())[:, None]).clamp(0.5, 23.49)
        tilt_db = draw.number(-4, 2) * torch.log2(hz.clamp(min=60) / 500)[None]
        curve = self._curve(len(keys))

        def through(curve: torch.Tensor) -> torch.Tensor:
            low = harmonic.floor().long()
            part = harmonic - low
            gain_db = curve.gather(1, low) * (1 - part) + curve.gather(1, low + 1) * part
            gain_db = gain_db + tilt_db
            return torch.fft.irfft(spectrum * 10 ** (gain_db / 20), n=SLOT)

        bent = through(curve)
        t = torch.arange(SLOT, device=self.device) / SAMPLE_RATE_HZ
        if draw.chance(0.6):
            later = through(curve + draw.normal(draw.number(1, 5), len(keys), 25))
            first = torch.exp(-t[None] / 10 ** draw.uniform(-1.3, 0.0, len(keys), 1))
            bent = bent * first + later * (1 - first)
        bent = bent * (_loudness(notes) / _loudness(bent))
        if draw.chance(0.25):  # a drier instrument
            bent = bent * torch.exp(-t * draw.number(0, 2.5))
        return bent

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

    # what is not to be heard

    def _bass(self) -> torch.Tensor:
        keys = torch.arange(BASS_KEYS[0], BASS_KEYS[-1] + 1, device=self.device)
        detune = self.draw.normal(4, len(keys))
        if self.draw.chance(0.4):
            notes = render(plucked_bass(keys + detune / 100, self.draw), SLOT, self.rng)
        else:
            layers = self._pick("bass").layers
            layer = layers[self.draw.whole(len(layers))]
            notes = self._from_layer(layer, keys, keys.float(), detune)
        notes = self.bent(notes, keys) if self.draw.chance(0.6) else notes
        return notes * 0.14 / _loudness(notes)

    def _drum(self) -> torch.Tensor:
        layers = self._pick("drums").layers
        layer = layers[self.draw.whole(len(layers))]
        zone = torch.tensor([self.draw.whole(len(layer.notes))], device=self.device)
        ratio = torch.exp(self.draw.normal(0.15, 1))
        note = resampled(self._samples(layer), zone, ratio, SLOT)
        peak = note.abs().amax(dim=1, keepdim=True).clamp(min=1e-4)
        return note * 0.5 / peak

    def _lead(self) -> torch.Tensor:
        keys = torch.arange(LEAD_KEYS[0], LEAD_KEYS[-1] + 1, device=self.device)
        detune = self.draw.normal(8, len(keys))
        if self.draw.chance(0.6):
            notes = render(sung(keys + detune / 100, self.draw), SLOT, self.rng)
        else:
            layer = self._pick("lead").layers[0]
            notes = self._from_layer(layer, keys, keys.float(), detune)
        return notes * 0.14 / _loudness(notes)


def _nearest(instrument: Instrument, tier: int) -> Layer:
    return min(instrument.layers, key=lambda layer: abs(layer.velocity - TIER_VELOCITY[tier]))


def _loudness(notes: torch.Tensor) -> torch.Tensor:
    """RMS of the first 0.4 s, (n, 1)."""
    return notes[:, :6400].square().mean(dim=1, keepdim=True).sqrt().clamp(min=1e-5)


def _faded(notes: torch.Tensor) -> torch.Tensor:
    """No note breaks off at the end of its slot."""
    ramp = torch.linspace(1, 0, _FADE, device=notes.device)
    notes[:, 80000 - _FADE : 80000] *= ramp
    notes[:, 80000:] = 0
    return notes


def _ring(notes: torch.Tensor) -> torch.Tensor:
    """Samples until a note, undamped, has stopped sounding."""
    blocks = notes.reshape(len(notes), -1, 1024).square().mean(dim=2)
    limit = blocks.amax(dim=1, keepdim=True) * 10 ** (_SUNG_OUT_DB / 10)
    place = torch.arange(1, blocks.shape[1] + 1, device=notes.device)
    return ((blocks > limit) * place).amax(dim=1).int() * 1024


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
