"""Kills while practice is kept: a check that is added, a correction, a backup put back.

The same as `kills`, which runs this: what a process said to be done must be there, whole. Of a
correction and of a backup put back only the last one counts; the one that was under way when the
kill came may be there as well, but nothing between.
"""

import random
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from bench.spoiled.killed import Work, killed_while, numbered
from stackline.practice.library.backup import back_up, restore
from stackline.practice.library.corrections import Correction
from stackline.practice.library.library import Library
from stackline.practice.review.reviewing import review
from stackline.practice.targets.target_text import parse_target

TARGET = parse_target("Dm9 | G13(b9) | C6/9", name="kept")
LATEST_S = 0.6  # after the first thing that was said to be done
SIZES = (2, 3)  # takes in the two backups


def _library(folder: Path) -> Path:
    return folder / "library.db"


def check_one(folder: Path, number: int) -> None:
    """A take and what a review found in it, as ``check --add`` keeps them."""
    take = numbered(number)
    found = review(take, TARGET)
    with Library(_library(folder)) as kept:
        added = kept.add(take)
        kept.keep_passes(added.id, found.target)


def correct_one(folder: Path, number: int) -> None:
    """Other notes in the first voicing of the first take; they say the number."""
    with Library(_library(folder)) as kept:
        onset_s = kept.heard(1).voicings[0].attack.onset_s
        kept.correct(1, Correction(onset_s=onset_s, pitches=notes_of(number)))


def restore_one(folder: Path, number: int) -> None:
    """One of two backups in the place of everything, in turn."""
    with Library(_library(folder)) as kept:
        restore(kept, folder / f"backup-{number % 2}.db")


def notes_of(number: int) -> tuple[int, ...]:
    """Three notes that stand for a number below 1080; the lower two are of two pitch classes."""
    low = 40 + number % 12
    return low, low + 13 + number // 12 % 10, low + 26 + number // 120 % 9


def _lost_checks(folder: Path, said: Sequence[int]) -> list[str]:
    with Library(_library(folder)) as kept:
        kept.store.check()
        there = {int(kept.heard(entry.id).source.sha256, 16): entry.id for entry in kept.entries()}
        names = [one.name for one in kept.targets()]
    lost = [f"take {number} of a check is lost" for number in said if number not in there]
    return lost + ([] if names == [TARGET.name] else [f"targets are {names}"])


def _lost_corrections(folder: Path, said: Sequence[int]) -> list[str]:
    with Library(_library(folder)) as kept:
        kept.store.check()
        kept_now = [one.pitches for one in kept.corrections(1)]
        sounding = kept.take(1).voicings[0].attack.struck
    allowed = [[notes_of(said[-1])], [notes_of(said[-1] + 1)]]
    wrong = [] if kept_now in allowed else [f"after correction {said[-1]}: {kept_now}"]
    shown = tuple(note.midi for note in sounding)
    return wrong + ([] if [shown] == kept_now else [f"the take shows {shown}, kept are {kept_now}"])


def _lost_restores(folder: Path, said: Sequence[int]) -> list[str]:
    with Library(_library(folder)) as kept:
        kept.store.check()
        entries = kept.entries()
        whole = all(
            kept.heard(one.id) == numbered(int(kept.heard(one.id).source.sha256, 16))
            for one in entries
        )
    allowed = {SIZES[said[-1] % 2], SIZES[(said[-1] + 1) % 2]}
    right = len(entries) in allowed and whole
    return [] if right else [f"after backup {said[-1]}: {len(entries)} takes, whole: {whole}"]


def _prepared(folder: Path) -> None:
    """A library to correct, and two backups."""
    for place, size in enumerate(SIZES):
        with Library(folder / f"source-{place}.db") as kept:
            for number in range(size):
                kept.add(numbered(9_000 + 10 * place + number))
            back_up(kept, folder / f"backup-{place}.db")
    with Library(_library(folder)) as kept:
        kept.add(numbered(8_000))


Lost = Callable[[Path, Sequence[int]], list[str]]
KINDS: dict[str, tuple[Work, Lost]] = {
    "check --add": (check_one, _lost_checks),
    "correct": (correct_one, _lost_corrections),
    "restore": (restore_one, _lost_restores),
}


def kept_kills(count: int, seed: int = 0) -> dict[str, dict[str, object]]:
    """So many kills shared among the kinds; what was said and what was lost of each."""
    rng, found = random.Random(seed), {}
    share = [count // len(KINDS) + (i < count % len(KINDS)) for i in range(len(KINDS))]
    for (kind, (work, lost_of)), kills in zip(KINDS.items(), share, strict=True):
        lost: list[str] = []
        said_of_all: list[int] = []
        with tempfile.TemporaryDirectory(prefix="kills-") as name:
            folder = Path(name)
            _prepared(folder)
            for turn in range(kills):
                said = killed_while(work, folder, 10 * turn, rng.uniform(0.0, LATEST_S))
                said_of_all += said
                if said:
                    lost += lost_of(folder, said if kind != "check --add" else said_of_all)
        found[kind] = {
            "kills": kills,
            "said to be done": len(said_of_all),
            "lost or not whole": lost,
        }
    return found
