"""How fast and how lean the program is: ``python -m bench.speed.speed --bank FOLDER``.

Speed: ten minutes of made comping (`fixtures.played.takes` on one piano, 44.1 kHz stereo wav). Ours
is the whole command ``stackline transcribe``, from starting Python to the last file
written, run twice, the second run counting (so files are in the system's cache). The
yardstick is basic-pitch's own ``predict`` on the same file: its second call in a process
where everything is loaded, its start not counted, which is kind to it. Runs alternate and
nothing else should run on the machine.

Memory: highest resident memory of the whole command on a two-hour file.

Results go to bench/results/speed.json.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import asdict, dataclass
from importlib.util import find_spec
from pathlib import Path

import click
import numpy as np
import soundfile
import soxr

from bench.scoring.provenance import provenance
from fixtures.played.takes import LISTED, make_take
from fixtures.sounded.bank import load_bank
from fixtures.sounded.conditions import levelled
from fixtures.sounded.render import render_take
from stackline.shared.files import write_text

RESULTS = Path(__file__).parents[1] / "results" / "speed.json"
SEED = 60_000
PART_S = 60.0  # a long file is made of takes of this length
FILE_HZ = 44_100
SPEED_S, MEMORY_S = 600.0, 7200.0
MOST_TIMES_PREDICT, MOST_MB = 1.3, 700.0


@dataclass(frozen=True, kw_only=True)
class Run:
    """One process: seconds from start to end, highest resident memory."""

    seconds: float
    peak_mb: float


def make_file(path: Path, bank: Path, duration_s: float) -> Path:
    """A recording of comping of some length, stereo, 16 bit."""
    loaded = load_bank(bank, split="dev")
    player = loaded.of_role("piano")[0]
    with soundfile.SoundFile(path, "w", FILE_HZ, 2, "PCM_16") as file:
        for index in range(round(duration_s / PART_S)):
            take = make_take(SEED + index % 10, LISTED, duration_s=PART_S)
            sound = render_take(take, player, rate_hz=loaded.sample_rate_hz)
            sound = levelled(sound)[: round(PART_S * loaded.sample_rate_hz)]
            wide = soxr.resample(sound, loaded.sample_rate_hz, FILE_HZ)
            file.write(np.stack([wide, wide], axis=1))
    return path


def run_command(arguments: list[str]) -> Run:
    """Run a process to its end; raises RuntimeError with its last words if it fails."""
    started = time.perf_counter()
    with tempfile.TemporaryFile() as words:
        process = subprocess.Popen(arguments, stdout=words, stderr=words)
        _, status, usage = os.wait4(process.pid, 0)
        seconds = time.perf_counter() - started
        process.returncode = os.waitstatus_to_exitcode(status)
        words.seek(0)
        said = words.read().decode(errors="replace")
    if process.returncode:
        raise RuntimeError(f"{' '.join(arguments[:4])} failed: {said[-800:]}")
    scale = 1e6 if sys.platform == "darwin" else 1e3  # bytes there, kilobytes on Linux
    return Run(seconds=round(seconds, 2), peak_mb=round(usage.ru_maxrss / scale, 1))


def transcribe(path: Path, ear: str) -> Run:
    """The whole command on a file, with all its outputs."""
    with tempfile.TemporaryDirectory() as folder:
        return run_command(
            [sys.executable, "-m", "stackline", "transcribe", str(path), "-o", folder, "--ear", ear]
        )


def predict(path: Path) -> Run:
    """basic-pitch's own predict, second call, loading not counted."""
    if find_spec("basic_pitch") is None:
        raise click.ClickException(
            "the yardstick is not installed; type: "
            "pip install --no-deps basic-pitch==0.4.0 resampy pretty_midi"
        )
    command = [sys.executable, "-m", "bench.speed.speed_process", str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return Run(**json.loads(done.stdout.splitlines()[-1]))


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--ear", default="general", show_default=True)
@click.option("--memory/--no-memory", default=True, help="Also the two-hour file.")
@click.option("--out", type=click.Path(path_type=Path), default=RESULTS, show_default=True)
def main(bank: Path, ear: str, memory: bool, out: Path) -> None:
    """Time the command against basic-pitch's predict; measure its memory."""
    with tempfile.TemporaryDirectory(dir="/var/tmp" if os.path.isdir("/var/tmp") else None) as name:
        path = make_file(Path(name) / "ten_minutes.wav", bank, SPEED_S)
        theirs = predict(path)
        transcribe(path, ear)
        ours = transcribe(path, ear)
        result = {
            "ear": ear,
            "audio_s": SPEED_S,
            "ours": asdict(ours),
            "basic_pitch_predict": asdict(theirs),
            "times_predict": round(ours.seconds / theirs.seconds, 3),
            "times_predict_allowed": MOST_TIMES_PREDICT,
            "peak_mb_allowed": MOST_MB,
            "load_average": round(os.getloadavg()[0], 2),
        } | provenance()
        click.echo(f"ours {ours.seconds} s, predict {theirs.seconds} s: {result['times_predict']}")
        if memory:
            long = transcribe(make_file(Path(name) / "two_hours.wav", bank, MEMORY_S), ear)
            result["two_hours"] = asdict(long)
            click.echo(f"two hours: {long.seconds} s, {long.peak_mb} MB")
    write_text(out, json.dumps(result, indent=2) + "\n")


if __name__ == "__main__":
    main()
