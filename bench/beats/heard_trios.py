"""Beats of real players, heard: ``python -m bench.beats.heard_trios --bank FOLDER``.

The onsets of the annotated trios (`bench.beats.trios`), each track left out of what was learnt, are
played by sampled instruments of the bank and heard by the ear, so that lost and false onsets are
real ones. Pitches are a random walk: harmony, which the annotations lack, has no say. Every fifth
attack of the piano is a chord. Tracks are played soft, medium and loud in turn; bass and drums
lie 6 dB below the piano. The peer is librosa's beat tracker on the same sound, its `bpm` where the
tempo is given. Instruments are those of the dev split.
"""

import json
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import click
import librosa
import mir_eval
import numpy as np
import soundfile

from bench.beats.trios import tracks
from bench.scoring.provenance import provenance
from fixtures.played.truth import TrueNote
from fixtures.sounded import conditions
from fixtures.sounded.bank import Bank, load_bank
from fixtures.sounded.company import BASS_LOW, RIDE
from fixtures.sounded.render import render_notes
from stackline.ears import make_ear
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.ear import Ear, silent
from stackline.listen.other_sounds.clicked_notes import without_clicked
from stackline.listen.other_sounds.clicks import Clicks, find_clicks
from stackline.listen.other_sounds.not_playing import sort_out
from stackline.listen.recording.decode import decode
from stackline.listen.recording.tuning import estimate_tuning
from stackline.listen.time.beats import find_beats
from stackline.listen.time.time_hints import TimeHints
from stackline.shared.files import write_text
from stackline.shared.notes import Attack

RESULT = Path(__file__).parents[1] / "results" / "heard_trios.json"
VELOCITIES = (45, 70, 100)  # soft, medium, loud
COMPANY_DB = -6.0
LEAD_IN_S = 0.5
LINE, CHORD_EVERY, CHORD = (60, 84), 5, (0, -5, -9)
LONGEST_S, RING_S = 0.8, 0.3


def walk(
    rng: np.random.Generator, times_s: np.ndarray, low: int, high: int, velocity: int
) -> list[TrueNote]:
    """A note at each time, up to the next, its pitch a step or two from the last."""
    notes, pitch = [], (low + high) // 2
    for at, after in zip(times_s, np.append(times_s[1:], times_s[-1] + 1.0), strict=True):
        pitch = int(np.clip(pitch + rng.choice([-3, -2, -1, 1, 2, 3]), low, high))
        end_s = float(at) + min(float(after - at), LONGEST_S)
        loud = int(np.clip(velocity + rng.normal(0, 6), 20, 120))
        notes.append(
            TrueNote(onset_s=float(at), key_up_s=end_s, offset_s=end_s, midi=pitch, velocity=loud)
        )
    return notes


def played(track: dict[str, Any], seed: int, bank: Bank, parts: bool, seconds: float) -> np.ndarray:
    """A track's first seconds as sound; parts: with bass and drums."""
    rng = np.random.default_rng([seed, 22])
    start_s = track["beats"][0][0] - LEAD_IN_S

    def at(part: str) -> np.ndarray:
        times_s = np.unique(track[part]) - start_s
        return times_s[(times_s > 0) & (times_s < seconds)]

    def sound(notes: list[TrueNote], role: str) -> np.ndarray:
        pool = bank.of_role(role)
        one = pool[seed % len(pool)]
        return render_notes(
            tuple(notes), one, rate_hz=bank.sample_rate_hz, duration_s=seconds + RING_S
        )

    line = walk(rng, at("piano"), *LINE, VELOCITIES[seed % len(VELOCITIES)])
    chords = [
        TrueNote(**{**vars(note), "midi": note.midi + step})
        for note in line[::CHORD_EVERY]
        for step in CHORD[1:]
    ]
    piano = conditions.levelled(sound([*line, *chords], "piano"))
    if not parts:
        return piano
    bass = sound(walk(rng, at("bass"), BASS_LOW, BASS_LOW + 20, 85), "bass")
    kit = walk(rng, at("drums"), RIDE, RIDE, 75)
    company = conditions.levelled(bass) + conditions.levelled(sound(kit, "drums"))
    return conditions.mixed(piano, company, level_db=COMPANY_DB)


def heard(sound: np.ndarray, rate_hz: int, ear: Ear) -> tuple[tuple[Attack, ...], Clicks]:
    """Attacks and clicks of a sound, as `listen.hearing` finds them."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "trio.wav"
        soundfile.write(path, sound, rate_hz)
        audio = decode(path, ear.sample_rate_hz, silent)
        tuning, clicks = estimate_tuning(audio), find_clicks(audio)
        struck = without_clicked(ear.hear(audio, tuning, silent), clicks, audio, tuning)
        return tuple(find_attacks(sort_out(audio, struck)[0])), clicks


def measure(index: int, bank: Bank, ear: Ear, seconds: float) -> dict[str, dict[str, float]]:
    """One track: alone, the tempo given, with bass and drums; ours and librosa's."""
    track, rate_hz = tracks()[index], bank.sample_rate_hz
    true = np.array([beat[0] for beat in track["beats"]]) - track["beats"][0][0] + LEAD_IN_S
    numbers = np.array([beat[2] for beat in track["beats"]])
    kept = true < seconds
    true, numbers = true[kept], numbers[kept]
    bpm = round(60.0 / float(np.median(np.diff(true))))
    rows = {}
    for parts in (False, True):
        sound = played(track, index, bank, parts, seconds)
        attacks, clicks = heard(sound, rate_hz, ear)
        for given in (False,) if parts else (False, True):
            hints = TimeHints(tempo_bpm=bpm if given else None)
            grid = find_beats(attacks, clicks=clicks, hints=hints, leave_out=index)
            _, peer = librosa.beat.beat_track(
                y=sound, sr=rate_hz, units="time", bpm=bpm if given else None
            )
            name = "bass and drums 6 dB below" if parts else "tempo given" if given else "alone"
            ones = [beat.time_s for beat in grid.beats if beat.number == 1]
            rows[name] = {
                "beat_f": f_measure(true, [beat.time_s for beat in grid.beats]),
                "downbeat_f": f_measure(true[numbers == 1], ones),
                "peer_beat_f": f_measure(true, list(peer)),
                "tempo_right": float(abs((grid.tempo_bpm or 0.0) / bpm - 1) <= 0.04),
            }
    return rows


def f_measure(true: np.ndarray, found: list[float]) -> float:
    """mir_eval's F of beats, hits within 70 ms."""
    return float(mir_eval.beat.f_measure(true, np.array(found))) if found else 0.0


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--seconds", default=60.0, show_default=True, help="Of each track.")
@click.option("--every", default=1, show_default=True, help="Only every so many tracks.")
@click.option("--out", type=click.Path(path_type=Path), default=RESULT, show_default=False)
def main(bank: Path, seconds: float, every: int, out: Path) -> None:
    """Play, hear and score the tracks."""
    instruments, ear = load_bank(bank, split="dev"), make_ear("piano")
    found: dict[str, Any] = {}
    for index in range(0, len(tracks()), every):
        found[str(index)] = measure(index, instruments, ear, seconds)
        click.echo(f"{index} {found[str(index)]}")
        kept = provenance() | {"seconds": seconds, "tracks": found}
        write_text(out, json.dumps(kept, indent=1) + "\n")
        write_text(out.with_suffix(".md"), table(found, seconds))


def table(found: dict[str, Any], seconds: float) -> str:
    """The means as Markdown."""
    columns = {
        "beat F": "beat_f", "librosa's": "peer_beat_f", "first of the bar F": "downbeat_f",
        "tempo right": "tempo_right",
    }  # fmt: skip
    lines = [
        f"# Beats of {len(found)} annotated trios, played by sampled instruments and heard",
        "",
        f"The first {seconds:g} s of tracks {', '.join(found)}; each left out of what was learnt.",
        "",
        "| | " + " | ".join(columns) + " |",
        "|---|" + "---:|" * len(columns),
    ]
    for name in next(iter(found.values())):
        cells = [np.mean([row[name][key] for row in found.values()]) for key in columns.values()]
        lines.append(f"| {name} | " + " | ".join(f"{cell:.3f}" for cell in cells) + " |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    main()
