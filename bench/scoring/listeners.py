"""Who is tried: our own ears, and peers that hear the same files.

A listener turns paths into hearings. Ours run the whole of `stackline.listen.hearing` and, for
chords, `reading` over all attacks. Peers give notes only; `attacks` groups
them by our rule, which is kind to them: their own formats know no attacks.
"""

import shutil
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from importlib import util
from pathlib import Path
from typing import Protocol

import mido

from bench.scoring.scoring import Heard, Named
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.ear import Ear
from stackline.listen.hearing import Hearing, hear
from stackline.shared.complaint import Complaint
from stackline.shared.harmony import Voicing
from stackline.shared.notes import Note
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of


class Listener(Protocol):
    """Anything that hears files. name: for the tables."""

    @property
    def name(self) -> str: ...

    def listen(self, paths: Sequence[Path]) -> list[Heard]:
        """One hearing for each path, in order."""
        ...


Read = Callable[[Hearing], tuple[Voicing, ...]]


def read_voicings(hearing: Hearing) -> tuple[Voicing, ...]:
    """The readings of a hearing's attacks, from notes alone; none while there is no reader."""
    if util.find_spec("stackline.theory.reading") is None:
        return ()
    from stackline.theory.reading import read

    reading = read(hearing.attacks, hearing.grid, end_s=hearing.source.duration_s)
    return tuple(reading.voicings)


class OurEar:
    """One of our ears with everything that follows it."""

    def __init__(self, ear: Ear, *, read: Read = read_voicings) -> None:
        self._ear = ear
        self._read = read

    @property
    def name(self) -> str:
        return self._ear.name

    def listen(self, paths: Sequence[Path]) -> list[Heard]:
        """See `Listener`."""
        return [self._hear(path) for path in paths]

    def _hear(self, path: Path) -> Heard:
        hearing = hear(path, ear=self._ear)
        voicings = {one.attack: one for one in self._read(hearing)}
        found = [voicings.get(attack) for attack in hearing.attacks]
        return Heard(
            notes=hearing.notes,
            attacks=hearing.attacks,
            confidences=tuple(
                voicing.confidence if voicing else min(note.confidence for note in attack.struck)
                for voicing, attack in zip(found, hearing.attacks, strict=True)
            ),
            chords=tuple(_named(voicing) for voicing in found) if voicings else None,
        )


def _named(voicing: Voicing | None) -> Named | None:
    if voicing is None:
        return None
    symbol = voicing.chord.symbol
    return Named(root_pc=pitch_class_of(symbol.root), family=quality(symbol.quality).family)


class MidiProgram:
    """Any program that is called as ``PROGRAM IN.wav OUT.mid``, in whatever environment.

    So a large published model can be compared without being installed beside us.
    """

    def __init__(self, program: Path) -> None:
        if shutil.which(str(program)) is None:
            raise Complaint(f"{program} cannot be run; name a program that makes MIDI of a wav")
        self._program = program
        self.name = f"{program.name}, its own notes"

    def listen(self, paths: Sequence[Path]) -> list[Heard]:
        """See `Listener`."""
        return [heard_notes(self._notes(path)) for path in paths]

    def _notes(self, path: Path) -> list[list[float]]:
        with tempfile.TemporaryDirectory() as folder:
            out = Path(folder) / "out.mid"
            command = [str(self._program), str(path), str(out)]
            done = subprocess.run(command, capture_output=True, text=True, check=False)
            if done.returncode or not out.is_file():
                raise RuntimeError(f"{self._program} failed: {done.stderr[-800:]}")
            return midi_notes(mido.MidiFile(out))


def midi_notes(file: mido.MidiFile) -> list[list[float]]:
    """The notes of a MIDI file as rows of (onset_s, offset_s, midi, amplitude), by onset."""
    time_s = 0.0
    down: dict[tuple[int, int], tuple[float, float]] = {}
    rows = []
    for message in file:
        time_s += message.time
        if message.type not in ("note_on", "note_off"):
            continue
        key = (message.channel, message.note)
        if key in down:
            onset, amplitude = down.pop(key)
            rows.append([onset, time_s, float(message.note), amplitude])
        if message.type == "note_on" and message.velocity:
            down[key] = (time_s, message.velocity / 127)
    return sorted(row for row in rows if 21 <= row[2] <= 108)


def heard_notes(rows: list[list[float]]) -> Heard:
    """Rows of (onset_s, offset_s, midi, amplitude 0..1) as a hearing without names."""
    notes = tuple(
        Note(
            onset_s=max(0.0, onset),
            offset_s=max(0.0, onset, offset),
            midi=int(midi),
            velocity=max(1, min(127, round(127 * amplitude))),
            confidence=0.5,
        )
        for onset, offset, midi, amplitude in rows
    )
    attacks = find_attacks(notes)
    return Heard(notes=notes, attacks=attacks, confidences=(None,) * len(attacks), chords=None)
