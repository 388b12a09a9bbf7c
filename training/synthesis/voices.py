"""The orchestra on the GPU: single notes of many voices, renewed all through the training.

A voice of the piano is 88 keys in three loudnesses: a sampled piano or electric piano, a
mixture of two, or synthetic partials. In half of them the spectrum is bent far by a random curve of
the voice and every note's by another, so that a key's second partial may tower over its first, as
octaves do; in the other half no further than good pianos differ. Each has its own stretch, its own
decay, is used for some hundred clips, then replaced.
Beside them stand what is not to be heard: basses, drums, leads.

Everything is one tensor of slots, one note each, so that mixing is adding rows.
"""

from dataclasses import dataclass

import torch

from fixtures.sounded.bank import Bank, Instrument, Layer
from stackline.listen.piano.features import SAMPLE_RATE_HZ
from stackline.shared.units import LOWEST_MIDI, N_KEYS
from training.synthesis.backing import BASS_KEYS, LEAD_KEYS
from training.synthesis.bending import SLOT, Bending, loudness
from training.synthesis.clip_score import BASS, DRUMS, LEAD, PIANO, TIERS
from training.synthesis.resampling import resampled
from training.synthesis.tones import (
    Draw,
    Recipe,
    knock,
    plucked_bass,
    render,
    struck_metal_or_skin,
    struck_strings,
    sung,
    tines_or_reeds,
)

_FADE = 4000
TIER_VELOCITY = (35, 70, 105)
_SUNG_OUT_DB = -38.0  # a note this far below its loudest has stopped sounding


@dataclass(frozen=True, kw_only=True)
class Spread:
    """How far voices go from the instruments in the bank: shares of voices, but for the last.

    struck: of all, strings sampled or made. uneven_db: of keys beside each other, at most.
    """

    sampled: float
    struck: float
    blended: float
    bent: float
    brighter: float
    quiet: float
    looped: float
    uneven_db: float


FAR = Spread(
    sampled=0.66, struck=0.90, blended=0.25, bent=0.8, brighter=0.6, quiet=0.5, looped=0.2,
    uneven_db=5.0,
)  # fmt: skip
NEAR = Spread(  # as far as one good piano is from another; half of the voices
    sampled=0.84, struck=0.95, blended=0.1, bent=0.5, brighter=0.4, quiet=0.25, looped=0.1,
    uneven_db=2.5,
)  # fmt: skip


class Orchestra:
    """Slots of all voices. n_voices: of pianos; there are fewer of the others."""

    def __init__(self, bank: Bank, n_voices: int, rng: torch.Generator) -> None:
        self.bank, self.rng, self.draw = bank, rng, Draw(rng)
        self.bending = Bending(self.draw)
        self.device = rng.device
        self.n_voices = {PIANO: n_voices, BASS: 16, DRUMS: 128, LEAD: 12}
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
            part = (BASS, DRUMS, BASS, LEAD)[self._turn // 4 % 4]
        each = {PIANO: 1, BASS: 8}.get(part, 16)
        self.renew(part, self._turn // each % self.n_voices[part])

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

    def slot(
        self, part: torch.Tensor, key: torch.Tensor, tier: torch.Tensor, voice: torch.Tensor
    ) -> torch.Tensor:
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
        kind, spread = draw.number(0, 1), NEAR if draw.chance(0.5) else FAR
        if kind < spread.sampled:
            roles = ("electric_piano",) if kind < 0.10 else ("piano",)
            notes = self.sampled(self._pick(*roles), keys, detune)
            if draw.chance(spread.blended):
                other = self.sampled(self._pick("piano", "electric_piano"), keys, detune)
                notes = notes + 10 ** (-draw.number(3, 20) / 20) * other
        else:
            notes = self._synthetic(keys, detune, struck=kind < spread.struck)
        if draw.chance(spread.bent):
            notes = self.bending.bent(notes, keys, gently=spread is NEAR)
        if draw.chance(spread.brighter):
            notes = self.bending.brighter_when_louder(notes)
        if draw.chance(spread.quiet):
            notes = self.bending.quiet_start(notes)
        if draw.chance(spread.looped):
            notes = self.bending.looped(notes)
        uneven = draw.number(1.0, spread.uneven_db) if draw.chance(0.7) else 0.7
        per_key = draw.normal(uneven, N_KEYS).repeat_interleave(TIERS)[:, None].clamp(-9, 9)
        return notes * 10 ** ((draw.normal(0.7, len(notes), 1) + per_key) / 20)

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
        hard = tiers if draw.chance(0.8) else torch.full_like(tiers, 0.5)
        make = struck_strings if struck else tines_or_reeds
        recipe: Recipe = make(keys + detune / 100, hard, draw)
        notes = render(recipe, SLOT, self.rng)
        notes = notes * 0.14 / loudness(notes)
        thump = knock(len(keys), 2400, draw) * 10 ** (-draw.number(18, 45) / 20)
        notes[:, :2400] += 0.5 * thump * (0.3 + tiers[:, None])
        return notes

    # what is not to be heard

    def _bass(self) -> torch.Tensor:
        keys = torch.arange(BASS_KEYS[0], BASS_KEYS[-1] + 1, device=self.device)
        notes = self._one_bass(keys)
        if self.draw.chance(0.3):  # a body of its own: between two
            notes = notes + self._one_bass(keys) * 10 ** (-self.draw.number(0, 12) / 20)
        notes = self.bending.bent(notes, keys) if self.draw.chance(0.8) else notes
        if self.draw.chance(0.3):
            notes = self.bending.quiet_start(notes)
        if self.draw.chance(0.4):
            t = torch.arange(SLOT, device=self.device) / SAMPLE_RATE_HZ
            notes = notes * torch.exp(-t * self.draw.number(0, 6))
        if self.draw.chance(0.5):
            thump = knock(len(keys), 2400, self.draw) * 10 ** (-self.draw.number(10, 35) / 20)
            notes = notes * 0.14 / loudness(notes)
            notes[:, :2400] += 0.14 * thump
        return notes * 0.14 / loudness(notes) * 10 ** (self.draw.normal(2.0, len(keys), 1) / 20)

    def _one_bass(self, keys: torch.Tensor) -> torch.Tensor:
        """Plucked strings, made or sampled, these from any of their layers and zones."""
        detune = self.draw.normal(4, len(keys))
        if self.draw.chance(0.35):
            notes = render(plucked_bass(keys + detune / 100, self.draw), SLOT, self.rng)
            return notes * 0.14 / loudness(notes)
        layers = self._pick("bass").layers
        layer = layers[self.draw.whole(len(layers))]
        reach = self.draw.number(0, 6)
        notes = self._from_layer(layer, keys, keys + self.draw.normal(reach, len(keys)), detune)
        return notes * 0.14 / loudness(notes)

    def _drum(self) -> torch.Tensor:
        if self.draw.chance(0.35):
            note = struck_metal_or_skin(self.draw, SLOT)
        else:
            note = self._sampled_drum()
        note = self._tilted(note) if self.draw.chance(0.6) else note
        peak = note.abs().amax(dim=1, keepdim=True).clamp(min=1e-4)
        return note * 0.5 / peak

    def _tilted(self, note: torch.Tensor) -> torch.Tensor:
        hz = torch.fft.rfftfreq(SLOT, 1 / SAMPLE_RATE_HZ).to(self.device)
        octaves = torch.log2(hz.clamp(min=40) / 800)[None]
        gain = 10 ** (self.draw.number(-3, 3) * octaves / 20)
        return torch.fft.irfft(torch.fft.rfft(note) * gain, n=SLOT)

    def _sampled_drum(self) -> torch.Tensor:
        layers = self._pick("drums").layers
        layer = layers[self.draw.whole(len(layers))]
        zone = torch.tensor([self.draw.whole(len(layer.notes))], device=self.device)
        ratio = torch.exp(self.draw.normal(0.15, 1))
        return resampled(self._samples(layer), zone, ratio, SLOT)

    def _lead(self) -> torch.Tensor:
        keys = torch.arange(LEAD_KEYS[0], LEAD_KEYS[-1] + 1, device=self.device)
        detune = self.draw.normal(8, len(keys))
        if self.draw.chance(0.6):
            notes = render(sung(keys + detune / 100, self.draw), SLOT, self.rng)
        else:
            layer = self._pick("lead").layers[0]
            notes = self._from_layer(layer, keys, keys.float(), detune)
        return notes * 0.14 / loudness(notes)


def _nearest(instrument: Instrument, tier: int) -> Layer:
    return min(instrument.layers, key=lambda layer: abs(layer.velocity - TIER_VELOCITY[tier]))


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
