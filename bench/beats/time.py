"""How right beats and bars are: ``python -m bench.beats.time --bank FOLDER``.

Made takes (`time_scenes`) on the instruments of one split, in a room: with clicks, a
count, a band, alone, in three, slowing down, one attack a bar, without a pulse. Scores are
those of `time_scoring`. The peer is librosa's beat tracker with its own settings on the
same files (its `bpm` where the tempo is given). `--cost` measures instead how much of the
whole run over half an hour of sound goes into the time.

What is tuned is tuned on the train split; quoted figures come from the dev split and its seeds.
"""

import json
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import click
import librosa
import numpy as np
import soundfile

from bench.scoring.provenance import provenance
from bench.scoring.time_scoring import Score, f_measure, is_tempo_right, score
from bench.speed.speed import make_file
from fixtures.sounded.bank import load_bank
from fixtures.sounded.scenes import Studio
from fixtures.sounded.time_scenes import COUNTED, SCENES, Timed, TimeScene, record
from stackline.ears import EARS, make_ear
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.grid import with_positions
from stackline.listen.ear import Ear
from stackline.listen.hearing import hear
from stackline.listen.other_sounds.clicked_notes import without_clicked
from stackline.listen.other_sounds.clicks import find_clicks
from stackline.listen.recording.decode import decode
from stackline.listen.recording.tuning import estimate_tuning
from stackline.listen.time.beats import find_beats
from stackline.listen.time.time_hints import TimeHints
from stackline.shared.files import write_text

RESULTS = Path(__file__).parents[1] / "results"
HALF_HOUR_S = 1800.0


@dataclass(frozen=True, kw_only=True)
class Row:
    """A scene: means over its takes, None where nothing can be scored.

    tempo_right_or_uncertain: right within 4 %, or the grid says that it may be wrong.
    eighths_where_found: over takes with beat F of 0.8 and more; eighths: over all with a grid.
    bars_heard: share of grids that say "heard"; right_when_heard: downbeat F of 0.8 and more
    among them. assumed: grids that say "assumed". left_out: share of the
    attacks in time that are reported as out of time. free_told, free_wrong: shares of the attacks
    out of time that are recognised, and that are given a wrong place. Peer: librosa's
    beat_track.
    """

    takes: int
    beat_f: float | None
    downbeat_f: float | None
    tempo_right: float | None
    tempo_right_or_uncertain: float | None
    eighths_where_found: float | None
    eighths: float | None
    found: float
    bars_heard: float
    right_when_heard: float | None
    assumed: float
    no_grid: float
    left_out: float | None
    free_told: float | None
    free_wrong: float | None
    false_attacks_a_minute: float
    peer_beat_f: float | None
    peer_tempo_right: float | None


def hints_of(scene: TimeScene, timed: Timed) -> dict[str, float | int]:
    """What the player of a scene says, as arguments of `hear`."""
    take = timed.take
    said: dict[str, float | int] = {}
    if "tempo" in scene.hints:
        said["tempo_bpm"] = round(take.tempo_bpm)
    if "first beat" in scene.hints:
        said["first_beat_s"] = round(take.beats_s[0], 1)
    if "count-in" in scene.hints:
        said["count_in"] = COUNTED
    return said


def measure(scene: TimeScene, studio: Studio, ear: Ear, *, takes: int, seconds: float) -> Row:
    """A row of the table."""
    scores, peers, minutes = [], [], 0.0
    with TemporaryDirectory() as folder:
        path = Path(folder) / "take.wav"
        for timed in record(scene, studio, takes=takes, duration_s=seconds):
            soundfile.write(path, timed.samples, timed.rate_hz)
            said = hints_of(scene, timed)
            heard = hear(path, ear=ear, hints=TimeHints(**said))  # type: ignore[arg-type]
            scores.append(score(timed.take, heard, timed.free_s))
            minutes += timed.take.duration_s / 60
            if timed.take.beats_s:
                peers.append(_peer(timed, said.get("tempo_bpm")))
    return _row(scores, peers, minutes)


def _peer(timed: Timed, bpm: float | None) -> tuple[float, bool]:
    """Beat F and tempo of librosa.beat.beat_track, its defaults; a hint is its `bpm`."""
    tempo, beats = librosa.beat.beat_track(y=timed.samples, sr=timed.rate_hz, units="time", bpm=bpm)
    found = f_measure(timed.take, timed.take.beats_s, np.asarray(beats), timed.free_s)
    return found, is_tempo_right(timed.take, float(np.atleast_1d(tempo)[0]))


def _row(scores: list[Score], peers: list[tuple[float, bool]], minutes: float) -> Row:
    pulsed = [one for one in scores if one.beat_f is not None]
    free = [sum(one.free[i] for one in scores) for i in range(3)]
    heard = [one for one in scores if one.source == "heard" and not one.no_grid]
    return Row(
        takes=len(scores),
        beat_f=_mean([one.beat_f for one in pulsed]),
        downbeat_f=_mean([one.downbeat_f for one in pulsed]),
        tempo_right=_mean([one.tempo_right for one in pulsed]),
        tempo_right_or_uncertain=_mean([one.tempo_right or one.uncertain for one in pulsed]),
        eighths_where_found=_pooled([one for one in pulsed if one.is_found]),
        eighths=_pooled(pulsed),
        found=round(sum(one.is_found for one in scores) / len(scores), 3),
        bars_heard=round(len(heard) / len(scores), 3),
        right_when_heard=_mean([(one.downbeat_f or 0) >= 0.8 for one in heard]),
        assumed=_mean([one.source == "assumed" and not one.no_grid for one in scores]) or 0.0,
        no_grid=_mean([one.no_grid for one in scores]) or 0.0,
        left_out=_share(sum(one.left_out for one in scores), sum(one.eighths[1] for one in scores)),
        free_told=_share(free[0], free[1] + free[2]),
        free_wrong=_share(free[2], free[0] + free[1]),
        false_attacks_a_minute=round(float(sum(one.false_attacks for one in scores) / minutes), 2),
        peer_beat_f=_mean([found for found, _ in peers]),
        peer_tempo_right=_mean([right for _, right in peers]),
    )


def _mean(
    values: "list[float | None] | list[bool] | list[bool | None] | list[float]",
) -> float | None:
    some = [float(value) for value in values if value is not None]
    return round(float(np.mean(some)), 3) if some else None


def _share(some: int, others: int) -> float | None:
    return round(some / (some + others), 3) if some + others else None


def _pooled(scores: list[Score]) -> float | None:
    right, total = (sum(one.eighths[i] for one in scores) for i in (0, 1))
    return round(right / total, 3) if total else None


COLUMNS: dict[str, Callable[[Row], float | None]] = {
    "beat F": lambda row: row.beat_f,
    "librosa's": lambda row: row.peer_beat_f,
    "downbeat F": lambda row: row.downbeat_f,
    "tempo right": lambda row: row.tempo_right,
    "or uncertain": lambda row: row.tempo_right_or_uncertain,
    "eighths, found": lambda row: row.eighths_where_found,
    "found": lambda row: row.found,
    "bars heard": lambda row: row.bars_heard,
    "right if heard": lambda row: row.right_when_heard,
    "assumed": lambda row: row.assumed,
    "no grid": lambda row: row.no_grid,
    "left out": lambda row: row.left_out,
    "rubato told": lambda row: row.free_told,
    "rubato wrong": lambda row: row.free_wrong,
    "false attacks a minute": lambda row: row.false_attacks_a_minute,
}


def table(rows: dict[str, Row], caption: str) -> str:
    """The rows as Markdown."""
    lines = [f"# {caption}", "", "| | " + " | ".join(COLUMNS) + " |"]
    lines.append("|---|" + "---:|" * len(COLUMNS))
    for name, row in rows.items():
        cells = [column(row) for column in COLUMNS.values()]
        texts = ("" if cell is None else f"{cell:.3f}" for cell in cells)
        lines.append(f"| {name} | " + " | ".join(texts) + " |")
    return "\n".join(lines) + "\n"


def cost(bank: Path, ear: Ear) -> dict[str, float]:
    """Processor seconds of all of `transcribe` over half an hour, and of its time part."""
    from stackline.pipeline import transcribe

    with TemporaryDirectory() as folder:
        path = make_file(Path(folder) / "long.wav", bank, HALF_HOUR_S)
        began = time.process_time()
        take = transcribe(path, ear=ear)
        whole_s = time.process_time() - began
        audio = decode(path, ear.sample_rate_hz)
        tuning = estimate_tuning(audio)
        attacks = find_attacks(take.notes)
        began = time.process_time()
        clicks = find_clicks(audio)
        without_clicked(take.notes, clicks, audio, tuning)
        with_positions(attacks, find_beats(attacks, clicks=clicks))
        time_s = time.process_time() - began
    return {
        "audio_s": HALF_HOUR_S,
        "transcribe_s": round(whole_s, 2),
        "time_part_s": round(time_s, 2),
        "share": round(time_s / whole_s, 3),
    }


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--ear", type=click.Choice(list(EARS)), default="piano")
@click.option("--split", type=click.Choice(["dev", "train"]), default="dev")
@click.option("--takes", default=40, show_default=True, help="Of each scene.")
@click.option("--seconds", default=45.0, show_default=True, help="Length of a take.")
@click.option("--only", multiple=True, help="Only scenes of this name.")
@click.option("--cost", "asks_cost", is_flag=True, help="Measure the cost as well.")
@click.option("--out", type=click.Path(path_type=Path), help="Default: results/time-SPLIT.json")
def main(
    bank: Path,
    ear: str,
    split: str,
    takes: int,
    seconds: float,
    only: tuple[str, ...],
    asks_cost: bool,
    out: Path | None,
) -> None:
    """Score our beats and bars, and librosa's beats, on the same takes."""
    studio = Studio(
        players=load_bank(bank, split=split), company=load_bank(bank, split="train"), split=split
    )
    listener = make_ear(ear)
    rows: dict[str, Row] = {}
    data: dict[str, object] = provenance() | {"split": split, "seconds": seconds, "ear": ear}
    if asks_cost:
        data["cost"] = cost(bank, listener)
        click.echo(str(data["cost"]))
    target = out or RESULTS / f"time-{split}.json"
    caption = f"Beats and bars, {split} split, {ear} ear, {takes} takes of {seconds:g} s a row"
    for scene in SCENES:
        if not only or scene.name in only:
            rows[scene.name] = measure(scene, studio, listener, takes=takes, seconds=seconds)
            click.echo(f"{scene.name:<34} {rows[scene.name]}")
            kept = data | {"rows": {name: asdict(row) for name, row in rows.items()}}
            write_text(target, json.dumps(kept, indent=2) + "\n")
            write_text(target.with_suffix(".md"), table(rows, caption))


if __name__ == "__main__":
    main()
