"""Recordings that the piano ear's judges learn from: takes on bent, made and sampled pianos.

Takes are those of `takes`, on pianos and electric pianos of the bank's ``train`` split
and on pianos made of partials (`voices`), recorded clean, in rooms, by phones, with
talk, with bass and drums; and recordings in which nobody plays. Seeds begin at 600 000, far
from those that the bench quotes figures on. Of most instruments every key's partials are
raised and lowered at random first, some keys so that they sound like octaves or twelfths:
what is learnt is that a key's partials prove little by themselves.
"""

from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
import torch

from fixtures.played.takes import FREE, HIGH, LISTED, LOW, REPEATED, make_take
from fixtures.played.truth import TrueNote
from fixtures.sounded import conditions
from fixtures.sounded.bank import Bank, Instrument, Layer
from fixtures.sounded.company import bass_and_drums, has_speech, speech
from fixtures.sounded.render import render_take
from stackline.listen.piano.features import SAMPLE_RATE_HZ
from stackline.shared.units import LOWEST_MIDI, N_KEYS
from training.classifiers.colours import PARTIALS, through_curves
from training.classifiers.quiet import quiet, some_level
from training.synthesis.scores import TIERS
from training.synthesis.voices import TIER_VELOCITY, Orchestra

FIRST_SEED = 600_000
TAKE_S = 36.0
STYLES = (FREE, LISTED, FREE, LISTED, FREE, REPEATED, FREE, LOW, FREE, HIGH, FREE, LISTED)
RECORDED = ("clean", "room", "phone", "clean", "room", "phone", "band", "band", "talk")
QUIET_EACH = 14  # one recording in so many has no player
MADE_EACH = 4  # one take in so many is played on a piano made of partials
COLOURED = 0.8  # share of the other takes
DETUNING_CENTS = 6.0  # what the tuning's estimate may leave


def recordings(
    bank: Bank, made: list[Instrument], indices: Iterable[int]
) -> Iterator[tuple[np.ndarray, tuple[TrueNote, ...]]]:
    """Samples at the bank's rate and true notes of recordings; each depends on its index only."""
    players = bank.of_role("piano", "electric_piano")
    for index in indices:
        rng = np.random.default_rng([FIRST_SEED, index])
        if index % QUIET_EACH == QUIET_EACH - 1:
            yield quiet(rng, index // QUIET_EACH, SAMPLE_RATE_HZ), ()
            continue
        if made and index % MADE_EACH == 0:
            player = made[index // MADE_EACH % len(made)]
        else:
            player = players[index % len(players)]
            if rng.random() < COLOURED:
                player = coloured(rng, player)
        style = STYLES[int(rng.integers(len(STYLES)))]
        take = make_take(FIRST_SEED + index, style, duration_s=TAKE_S)
        cents = float(rng.uniform(-DETUNING_CENTS, DETUNING_CENTS))
        sound = render_take(take, player, rate_hz=SAMPLE_RATE_HZ, detune_cents=cents)
        sound = conditions.levelled(sound)
        recorded = RECORDED[int(rng.integers(len(RECORDED)))]
        if recorded == "room":
            sound = conditions.room(rng, sound, SAMPLE_RATE_HZ)
        elif recorded == "phone":
            sound = conditions.phone(rng, sound, SAMPLE_RATE_HZ)
        elif recorded == "talk" and has_speech():
            talk = speech(rng, len(sound), SAMPLE_RATE_HZ)
            sound = conditions.mixed(sound, talk, level_db=float(rng.uniform(-22, -6)))
        elif recorded == "band":
            bass, drums = (rng.choice(bank.of_role(role)) for role in ("bass", "drums"))
            band = bass_and_drums(rng, take, bass, drums, rate_hz=SAMPLE_RATE_HZ)
            sound = conditions.mixed(sound, band, level_db=float(rng.uniform(-18, -1)))
        yield some_level(rng, sound), take.notes


def coloured(rng: np.random.Generator, player: Instrument) -> Instrument:
    """The instrument with other strengths of its partials, each note's loudness kept."""
    curves = dict(enumerate(_key_curves(rng), LOWEST_MIDI))
    return through_curves(rng, player, curves, SAMPLE_RATE_HZ)


def _key_curves(rng: np.random.Generator) -> np.ndarray:
    """Gains in dB of the partials of every key, (88, 25): a key sounds alike soft and loud."""
    take_db, key_db = rng.normal(0, rng.uniform(1, 6), PARTIALS + 1), rng.uniform(1, 8)
    curves = take_db + rng.normal(0, key_db, (N_KEYS, PARTIALS + 1))
    if rng.random() < 0.6:  # some keys sound like octaves and twelfths
        for step, share in ((2, 0.3), (3, 0.15)):
            alike = rng.random(N_KEYS) < share
            curves[alike, step::step] += rng.uniform(0, 14, (int(alike.sum()), 1))
    return curves


def made_of_partials(bank: Bank, count: int, cache: Path | None) -> list[Instrument]:
    """Fresh voices of the orchestra as instruments; some 20 s each on a CPU, so kept."""
    found, orchestra = [], None
    for index in range(count):
        path = None if cache is None else cache / f"{index}.npy"
        if path is not None and path.is_file():
            notes = np.load(path).astype(np.float32)
        else:
            orchestra = orchestra or Orchestra(bank, 1, torch.Generator().manual_seed(4242))
            notes = orchestra.piano()[:, :80_000].numpy()
            if path is not None:
                np.save(path, notes.astype(np.float16))
        tiers = notes.reshape(N_KEYS, TIERS, -1).transpose(1, 0, 2)
        pitches = np.arange(N_KEYS) + LOWEST_MIDI
        layers = tuple(
            Layer(velocity=velocity, pitches=pitches, notes=tier)
            for velocity, tier in zip(TIER_VELOCITY, tiers, strict=True)
        )
        found.append(Instrument(name=f"made {index}", role="piano", split="train",
                                source="made", licence="none", layers=layers))  # fmt: skip
    return found
