"""The large ear: transkun's model for pianos, if the player installed it (``stackline[large]``).

A transformer of 14 million weights that scores intervals of each key (Y. Yan and Z. Duan, "Scoring
intervals using non-hierarchical transformer for automatic piano transcription", ISMIR 2024; MIT),
learnt from recordings of concert grands. Its weights lie inside its package, so nothing is fetched.
It needs torch, and longer than the recording lasts; it hears real grands better than our own
ear, sampled comping worse. It gives no chances, so every attack has the one that it reached on
made takes of common voicings.

It works in pieces, each with what sounds around it, so memory does not grow with the recording.
"""

import importlib.util
import warnings
from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np
import soxr

from stackline.listen.ear import Progress
from stackline.listen.recording.tuning import Retuning
from stackline.shared.complaint import Complaint
from stackline.shared.notes import Note
from stackline.shared.sound import Audio, Tuning
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI

PACKAGE = "transkun"
MISSING = (
    "the large ear is not installed; install it with: pip install 'stackline[large]' "
    "(1 GB and more on disk, 5 GB with the Linux build of torch; it hears slower than real time)"
)
RIGHT = 0.75  # of attacks: exact sets of common voicings on sampled pianos, in a small trial

_PIECE_S, _BESIDE_S = 120, 8  # the model itself looks at 16 s at a time, 8 s on


class LargeEar:
    """Hears pianos. Making one raises Complaint where the package is not installed."""

    sample_rate_hz = 44_100
    hears_velocity = True

    def __init__(self) -> None:
        if not all(importlib.util.find_spec(name) for name in (PACKAGE, "torch")):
            raise Complaint(MISSING)

    @property
    def name(self) -> str:
        return f"large ({PACKAGE} {metadata.version(PACKAGE)})"

    def hear(self, audio: Audio, tuning: Tuning, progress: Progress) -> tuple[Note, ...]:
        """See `stackline.listen.ear.Ear`."""
        rate, total = self.sample_rate_hz, len(audio.samples)
        retuning = Retuning.of(tuning, rate)
        found: list[Note] = []
        for start in range(0, total, _PIECE_S * rate):
            stop = min(start + _PIECE_S * rate, total)
            first = max(start - _BESIDE_S * rate, 0)
            sound = audio.samples[first : min(stop + _BESIDE_S * rate, total)]
            if retuning.read_hz != rate:
                sound = soxr.resample(sound, rate, retuning.read_hz)
            notes = notes_of(self._asked(sound), first / rate, rate / retuning.read_hz)
            found += [note for note in notes if start <= note.onset_s * rate < stop]
            progress("hearing the notes", stop / total)
        return none_twice(found)

    def _asked(self, sound: np.ndarray) -> list[Any]:
        """What the model hears in samples at its rate; its own records."""
        import torch

        with torch.no_grad(), warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of torch, about how the package calls it
            heard: list[Any] = self._model.transcribe(torch.from_numpy(sound.copy())[:, None])
        return heard

    @cached_property
    def _model(self) -> Any:
        """The model with its shipped weights, as its package's own program sets it up."""
        try:
            import torch
            import transkun
            from moduleconf import parseFromFile

            folder = Path(transkun.__file__).parent / "pretrained"
            described = parseFromFile(str(folder / "2.0.conf"))["Model"]
        except (ImportError, OSError) as error:
            said = " ".join(str(error).split())[:80]
            raise Complaint(
                f"the large ear cannot be loaded ({said}); install it again with: "
                "pip install --force-reinstall 'stackline[large]'"
            ) from error
        model = described.module.TransKun(conf=described.config)
        state = torch.load(folder / "2.0.pt", map_location="cpu", weights_only=True)
        model.load_state_dict(state.get("best_state_dict", state.get("state_dict")), strict=False)
        return model.eval()


def notes_of(heard: Iterable[Any], from_s: float, slower: float) -> list[Note]:
    """The model's records as notes; its pedals, which have pitches below 0, are left out.

    from_s: where the piece begins. slower: seconds of the recording for each of the model's.
    """
    return [
        Note(
            onset_s=round(from_s + one.start * slower, 4),
            offset_s=round(from_s + max(one.end, one.start) * slower, 4),
            midi=one.pitch,
            velocity=min(max(int(one.velocity), 1), 127),
            confidence=RIGHT,
        )
        for one in heard
        if LOWEST_MIDI <= one.pitch <= HIGHEST_MIDI
    ]


def none_twice(notes: Iterable[Note]) -> tuple[Note, ...]:
    """Notes by onset, then pitch; each ends where its key is struck again."""
    after: dict[int, float] = {}
    kept: list[Note] = []
    for note in sorted(notes, key=lambda note: (note.onset_s, note.midi), reverse=True):
        end_s = min(note.offset_s, after.get(note.midi, np.inf))
        after[note.midi] = note.onset_s
        kept.append(replace(note, offset_s=max(end_s, note.onset_s)))
    return tuple(reversed(kept))
