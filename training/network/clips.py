"""A batch to learn from: scores in, features and what to find in them out."""

from dataclasses import dataclass

import numpy as np
import torch

from stackline.listen.piano.features import BEFORE, HOP
from stackline.shared.units import LOWEST_MIDI, N_KEYS
from training.network.spectra import Spectra, clip_samples
from training.synthesis.acoustics import SPARE, Chain
from training.synthesis.clip_score import PIANO
from training.synthesis.mixing import Rows, mix
from training.synthesis.scores import Scores
from training.synthesis.voices import Orchestra

N_FRAMES = 128  # of a clip: 4.1 s
LENGTH = clip_samples(N_FRAMES)
HIDING = (12, 19, 24, -12, 7, 28, 31, 36)
"""Semitones from a struck key where a note that is not there is most easily heard."""
_SPARED = 4  # frames at either end whose strikes count for nothing: half of them is cut off


@dataclass(frozen=True, kw_only=True, eq=False)
class Labels:
    """What is to be found, all (batch, frames, 88).

    onset: 1 in the two frames around a strike. weight: of the onset's loss. sounding: 1
    while a key sounds. time: of the strike, in frames from this one. velocity: 0..1; both
    only where onset is 1. strikes: (n, 4) clip, frame with fraction, key, velocity.
    """

    onset: torch.Tensor
    weight: torch.Tensor
    sounding: torch.Tensor
    time: torch.Tensor
    velocity: torch.Tensor
    strikes: torch.Tensor


@dataclass(frozen=True, kw_only=True, eq=False)
class Batch:
    """features: (batch, 4, frames, 440). sound: (batch, LENGTH)."""

    features: torch.Tensor
    labels: Labels
    sound: torch.Tensor


class Studio:
    """Plays scores with an orchestra under conditions and takes down what was played."""

    def __init__(self, orchestra: Orchestra, conditions: Chain) -> None:
        self.orchestra, self.conditions = orchestra, conditions
        self.spectra = Spectra().to(orchestra.device)

    @torch.no_grad()
    def record(self, scores: Scores) -> Batch:
        device = self.orchestra.device
        whole = torch.from_numpy(scores.whole).to(device, non_blocking=True)
        parts = torch.from_numpy(scores.parts).to(device, non_blocking=True)
        detune = torch.from_numpy(scores.detune).to(device)
        backing = torch.from_numpy(scores.backing_db).to(device)
        part, key, tier, onset, release, voice = whole.unbind(dim=2)
        slot = self.orchestra.slot(part, key, tier, voice)
        used = parts[..., 0] > 0
        rows = Rows(
            slot=torch.where(used, slot, 0).int(),
            onset=onset,
            release=release,
            gain=parts[..., 0],
            tau=parts[..., 1].clamp(min=1.0),
            stem=(part != PIANO).int(),
            count=used.sum(dim=1).int(),
        )
        stems = mix(self.orchestra.slots, rows, LENGTH + SPARE)
        heard = used & (part == PIANO)
        ends = torch.minimum(release, onset + self.orchestra.ring[rows.slot])
        ratio = 2 ** (detune / 1200)[:, None]
        first, last = onset / ratio, ends / ratio
        nothing_before = torch.where(heard, first, LENGTH).amin(dim=1)
        sound = self.conditions(stems, detune, backing, LENGTH, nothing_before)
        labels = label(heard, key - LOWEST_MIDI, first, last, parts[..., 2])
        return Batch(features=self.spectra(sound), labels=labels, sound=sound)


def label(
    heard: torch.Tensor,
    key: torch.Tensor,
    onset: torch.Tensor,
    end: torch.Tensor,
    velocity: torch.Tensor,
) -> Labels:
    """Labels of notes, all (batch, n): onset and end in samples of the clip, key 0..87."""
    batch, device = len(key), key.device
    clip, row = torch.nonzero(heard, as_tuple=True)
    key, velocity = key[clip, row].long(), velocity[clip, row]
    place = (onset[clip, row] - BEFORE) / HOP
    last = ((end[clip, row] - BEFORE) / HOP).floor().long()
    frame = place.floor().long()
    shape = (batch, N_FRAMES, N_KEYS)
    found, time, level = (torch.zeros(shape, device=device) for _ in range(3))
    weight = torch.ones(shape, device=device)
    for step in (-1, 2):  # beside a strike the network may say what it likes
        at = frame + step
        ok = (at >= 0) & (at < N_FRAMES)
        weight[clip[ok], at[ok], key[ok]] = 0.15
    for step in (0, 1):
        at = frame + step
        ok = (at >= 0) & (at < N_FRAMES)
        for interval in HIDING:
            near = ok & (key + interval >= 0) & (key + interval < N_KEYS)
            index = (clip[near], at[near], key[near] + interval)
            weight[index] = torch.where(weight[index] < 1, weight[index], 2.5)
    for step in (0, 1):
        at = frame + step
        ok = (at >= 0) & (at < N_FRAMES)
        index = (clip[ok], at[ok], key[ok])
        found[index], weight[index] = 1.0, 1.5
        time[index], level[index] = (place - at)[ok].float(), velocity[ok]
    weight[:, :_SPARED] = 0
    weight[:, -_SPARED:] = 0
    marks = torch.zeros((batch, N_FRAMES + 1, N_KEYS), device=device)
    low, high = frame.clamp(0, N_FRAMES), (last + 1).clamp(0, N_FRAMES)
    ok = high > low
    marks.index_put_((clip[ok], low[ok], key[ok]), torch.ones_like(place[ok]), accumulate=True)
    marks.index_put_((clip[ok], high[ok], key[ok]), -torch.ones_like(place[ok]), accumulate=True)
    sounding = (marks.cumsum(dim=1)[:, :N_FRAMES] > 0.5).float()
    weight = _ringing_on(found, sounding, weight)
    strikes = torch.stack((clip.float(), place.float(), key.float(), velocity), dim=1)
    return Labels(
        onset=found, weight=weight, sounding=sounding, time=time, velocity=level, strikes=strikes
    )


def _ringing_on(found: torch.Tensor, sounding: torch.Tensor, weight: torch.Tensor) -> torch.Tensor:
    """Weights, more where a key rings, or was just let go, while others are struck."""
    near = torch.nn.functional.max_pool1d(sounding.transpose(1, 2), 9, 1, 4).transpose(1, 2)
    others = found.amax(dim=2, keepdim=True)
    ringing = (near > 0) & (others > 0) & (found == 0) & (weight >= 1.0)
    return torch.where(ringing, weight.clamp(min=2.5), weight)


def generator(seed: int, step: int) -> np.random.Generator:
    """The generator of one batch's scores, the same wherever it is drawn."""
    return np.random.default_rng((seed, step))
