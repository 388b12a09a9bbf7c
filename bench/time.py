"""How right the beats are: ``python -m bench.time --bank FOLDER --ear piano``.

Made takes of solo comping (`bench.takes`: swung, anticipated, one to four attacks a bar, 66 to
176 beats a minute) on the instruments of one split, in a room. Scored: beat F-measure
(mir_eval.beat, 70 ms, from the first beat played), tempo within 4 %, and attacks that stand
in the right half of the right beat. The peer is librosa's beat tracker with its own settings on
the same files. With the player's tempo as a hint both are tried again.

`--seed` moves the takes; quoted figures come from the dev split and its seeds.
"""

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import click
import librosa
import mir_eval
import numpy as np
import soundfile

from bench.provenance import provenance
from bench.scenes import PLAYED, Recording, Studio, record_scene
from bench.truth import TrueTake
from listen.hearing import Hearing, hear
from shared.files import write_text
from stackline.ears import EARS, make_ear
from training.bank import load_bank

TEMPO_TOLERANCE = 0.04
SCENE = next(one for one in PLAYED if (one.table, one.name) == ("listed", "room"))


@dataclass(frozen=True, kw_only=True)
class Row:
    """Means over takes. None where nothing could be scored."""

    takes: int
    beat_f: float
    tempo_right: float
    tempo_right_or_open: float
    half_beat_right: float | None
    without_beats: float


def scored(take: TrueTake, beats_s: np.ndarray, tempo_bpm: float | None) -> tuple[float, bool]:
    """Beat F-measure and whether the tempo is right, over the stretch that was played."""
    first, last = take.attacks[0].onset_s - 0.1, take.attacks[-1].onset_s + 0.1
    true = np.array([t for t in take.beats_s if first <= t <= last])
    heard = np.array([t for t in beats_s if first <= t <= last])
    f_measure = float(mir_eval.beat.f_measure(true, heard)) if len(heard) else 0.0
    right = tempo_bpm is not None and abs(tempo_bpm / take.tempo_bpm - 1) <= TEMPO_TOLERANCE
    return f_measure, right


def half_beats(take: TrueTake, hearing: Hearing) -> list[bool]:
    """For each true attack that was heard: does it stand in its half of its beat?

    Bars are not scored here: where nothing decides the first beat of the bar, it is assumed.
    """
    found = []
    for attack in hearing.attacks:
        near = min(take.attacks, key=lambda one: abs(one.onset_s - attack.onset_s))
        if attack.position is None or abs(near.onset_s - attack.onset_s) > 0.1:
            continue
        beats = np.array(take.beats_s)
        at = (near.onset_s - beats[0]) / (60 / take.tempo_bpm)
        swung = round(float(at % 1) * 3) in (1, 2)
        found.append(swung == (attack.position.beat.denominator > 1))
    return found


def ours(recordings: list[Recording], ear: str, *, hint: bool) -> Row:
    """Our beats, with or without the tempo as a hint."""
    listener = make_ear(ear)
    rows, halves, without = [], [], 0
    with TemporaryDirectory() as folder:
        for i, recording in enumerate(recordings):
            path = Path(folder) / f"{i}.wav"
            soundfile.write(path, recording.samples, recording.rate_hz)
            assert recording.take is not None
            tempo = recording.take.tempo_bpm if hint else None
            hearing = hear(path, ear=listener, tempo_bpm=tempo)
            beats = np.array([beat.time_s for beat in hearing.grid.beats])
            without += not len(beats)
            rows.append((*scored(recording.take, beats, hearing.grid.tempo_bpm), not len(beats)))
            halves += half_beats(recording.take, hearing)
    return _row(rows, halves, without)


def librosas(recordings: list[Recording], *, hint: bool) -> Row:
    """librosa.beat.beat_track, its defaults; a hint is its `bpm`."""
    rows = []
    for recording in recordings:
        assert recording.take is not None
        tempo, beats = librosa.beat.beat_track(
            y=recording.samples,
            sr=recording.rate_hz,
            units="time",
            bpm=recording.take.tempo_bpm if hint else None,
        )
        bpm = float(np.atleast_1d(tempo)[0])
        rows.append((*scored(recording.take, np.asarray(beats), bpm), False))
    return _row(rows, [], 0)


def _row(rows: list[tuple[float, bool, bool]], halves: list[bool], without: int) -> Row:
    return Row(
        takes=len(rows),
        beat_f=round(float(np.mean([f for f, _, _ in rows])), 3),
        tempo_right=round(float(np.mean([right for _, right, _ in rows])), 3),
        tempo_right_or_open=round(float(np.mean([right or none for _, right, none in rows])), 3),
        half_beat_right=round(float(np.mean(halves)), 3) if halves else None,
        without_beats=round(without / len(rows), 3),
    )


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--ear", type=click.Choice(list(EARS)), default="piano")
@click.option("--split", type=click.Choice(["dev", "train"]), default="dev")
@click.option("--takes", default=24, show_default=True)
@click.option("--seconds", default=45.0, show_default=True, help="Length of a take.")
@click.option(
    "--out", type=click.Path(path_type=Path), help="Default: bench/results/time-SPLIT.json"
)
def main(bank: Path, ear: str, split: str, takes: int, seconds: float, out: Path | None) -> None:
    """Score our beats and librosa's on the same takes."""
    players = load_bank(bank, split=split)
    studio = Studio(players=players, company=load_bank(bank, split="train"), split=split)
    recordings = list(record_scene(SCENE, studio, takes=takes, duration_s=seconds))
    results = {
        f"ours, {ear} ear": ours(recordings, ear, hint=False),
        f"ours, {ear} ear, tempo given": ours(recordings, ear, hint=True),
        "librosa beat_track": librosas(recordings, hint=False),
        "librosa beat_track, tempo given": librosas(recordings, hint=True),
    }
    for name, row in results.items():
        click.echo(f"{name:<34} {row}")
    data = (
        provenance()
        | {"split": split, "seconds": seconds}
        | {"rows": {name: asdict(row) for name, row in results.items()}}
    )
    target = out or Path(__file__).parent / "results" / f"time-{split}.json"
    write_text(target, json.dumps(data, indent=2) + "\n")


if __name__ == "__main__":
    main()
