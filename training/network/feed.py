"""Batches made beside the training: scores in processes, sound in a process of its own.

Synthesis is hundreds of small steps a batch; in the process that trains, or in a thread of
it, launching them would hold up the training itself. So other processes synthesise (on a
second GPU where there is one) and leave batches in memory that all share. One of them made
some 740 clips of 4 s a second on an H100 (and held up the training for a third of its time).
"""

from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import soundfile
import torch
import torch.multiprocessing

from fixtures.sounded.bank import load_bank
from stackline.listen.piano.features import N_BINS, N_WINDOWS
from stackline.shared.units import N_KEYS
from training.network.clips import LENGTH, N_FRAMES, Batch, Labels, Studio, generator
from training.synthesis.acoustics import Conditions
from training.synthesis.scores import Scores, draw
from training.synthesis.voices import Orchestra

SYNTHESISED = 64  # clips at once
RENEW_EACH = 4  # syntheses after which a voice of the orchestra is replaced
_SLOTS = 8  # batches ahead, at most

Cells = dict[str, torch.Tensor]


@dataclass(frozen=True, kw_only=True)
class Source:
    """What batches are made of. device: where sound is made. start: the first step.

    makers: processes that synthesise. workers: processes that write scores for each.
    """

    bank: Path
    speech: Path | None
    device: str
    seed: int
    start: int
    batch: int
    voices: int
    workers: int
    makers: int = 1


def scores_of(seed: int, step: int, batch: int) -> Scores:
    """Scores of one batch; a function of its arguments alone."""
    return draw(generator(seed, step), batch, LENGTH)


def read_speech(path: Path | None, device: torch.device | str) -> torch.Tensor | None:
    """Talk cut into rows of twice a clip, (n, samples); None without a file."""
    if path is None:
        return None
    sound, _ = soundfile.read(path, dtype="float32")
    rows = len(sound) // (2 * LENGTH)
    return torch.tensor(sound[: rows * 2 * LENGTH].reshape(rows, -1), device=device)


def studio_of(source: Source, maker: int = 0) -> Studio:
    """A studio with all voices made, other ones for each maker."""
    seed = source.seed + source.start + 1_000_003 * maker
    rng = torch.Generator(device=source.device).manual_seed(seed)
    orchestra = Orchestra(load_bank(source.bank, split="train"), source.voices, rng)
    orchestra.fill()
    return Studio(orchestra, Conditions(rng, read_speech(source.speech, source.device)))


def cells(batch: Batch) -> Cells:
    """What training needs of a batch, in small numbers."""
    labels = batch.labels
    return {
        "features": batch.features.half(),
        "onset": labels.onset.to(torch.uint8),
        "sounding": labels.sounding.to(torch.uint8),
        "weight": labels.weight.half(),
        "time": labels.time.half(),
        "velocity": labels.velocity.half(),
    }


def labels_of(found: Cells) -> Labels:
    """Labels from `cells`, without the list of strikes."""
    names = ("onset", "sounding", "weight", "time", "velocity")
    none = torch.zeros((0, 4), device=found["onset"].device)
    return Labels(**{name: found[name].float() for name in names}, strikes=none)


def in_this_process(studio: Studio, source: Source) -> Iterator[Cells]:
    """Batches one after the other, for machines without a GPU to keep busy."""
    step = source.start
    while True:
        yield cells(studio.record(scores_of(source.seed, step, source.batch)))
        step += 1


class Feed:
    """An endless iterator over batches on `device`, made beside; `close` ends it."""

    def __init__(self, source: Source, device: torch.device) -> None:
        context = torch.multiprocessing.get_context("spawn")
        self._device = device
        self._slots = [_empty(source.batch) for _ in range(_SLOTS)]
        self._free, self._ready = context.Queue(), context.Queue()
        for i in range(_SLOTS):
            self._free.put(i)
        self._makers = [
            context.Process(
                target=_produce, args=(source, maker, self._slots, self._free, self._ready)
            )
            for maker in range(source.makers)
        ]
        for process in self._makers:
            process.start()
        self._stream = torch.cuda.Stream(device) if device.type == "cuda" else None

    def __iter__(self) -> Iterator[Cells]:
        while True:
            slot = self._ready.get()
            if isinstance(slot, str):
                raise RuntimeError(f"the making of batches failed: {slot}")
            found = self._taken(self._slots[slot])
            self._free.put(slot)
            yield found

    def _taken(self, slot: Cells) -> Cells:
        """A slot's tensors on the device; the copy does not wait for the training."""
        if self._stream is None:
            return {name: tensor.clone() for name, tensor in slot.items()}
        with torch.cuda.stream(self._stream):
            found = {name: tensor.to(self._device) for name, tensor in slot.items()}
        self._stream.synchronize()
        for tensor in found.values():
            tensor.record_stream(torch.cuda.current_stream(self._device))
        return found

    def close(self) -> None:
        """End the processes and what they started."""
        for _ in self._makers:
            self._free.put(None)
        for process in self._makers:
            process.join(timeout=20)
            if process.is_alive():
                process.terminate()


def _empty(batch: int) -> Cells:
    keys = (batch, N_FRAMES, N_KEYS)
    shapes = {"features": (batch, N_WINDOWS, N_FRAMES, N_BINS), "onset": keys, "sounding": keys,
              "weight": keys, "time": keys, "velocity": keys}  # fmt: skip
    small = ("onset", "sounding")
    return {
        name: torch.zeros(shape, dtype=torch.uint8 if name in small else torch.half).share_memory_()
        for name, shape in shapes.items()
    }


def _produce(source: Source, maker: int, slots: list[Cells], free: Any, ready: Any) -> None:
    """A maker: fills free slots until it is handed None."""
    try:
        studio = studio_of(source, maker)
        pool = ProcessPoolExecutor(source.workers, mp_context=get_context("spawn"))
        first = source.start * source.batch // SYNTHESISED
        for count, scores in enumerate(_ahead(pool, source, first + maker)):
            if count % RENEW_EACH == 0:
                studio.orchestra.renew_next()
            made = cells(studio.record(scores))
            for part in range(0, SYNTHESISED, source.batch):
                slot = free.get()
                if slot is None:
                    pool.shutdown(cancel_futures=True)
                    return
                for name, tensor in made.items():
                    slots[slot][name].copy_(tensor[part : part + source.batch])
                ready.put(slot)
    except Exception as error:  # shown where the batches are used
        ready.put(f"{type(error).__name__}: {error}")


def _ahead(pool: ProcessPoolExecutor, source: Source, step: int) -> Iterator[Scores]:
    """Scores of each `makers`-th step from one on, some batches ahead."""

    def submit() -> "Future[Scores]":
        nonlocal step
        future = pool.submit(scores_of, source.seed, step, SYNTHESISED)
        step += source.makers
        return future

    waiting = [submit() for _ in range(32)]
    while True:
        yield waiting.pop(0).result()
        waiting.append(submit())
