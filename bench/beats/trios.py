"""Beats of real players from their onsets alone: ``python -m bench.beats.trios``.

17 jazz trios annotated by hand (`bench/beats/trios.json`; source and licence stand in it), all in
four: attacks at the pianist's onsets, the drummer's as clicks, the bassist's as a bass, the first
90 s of each. The rhythms are learnt from these tracks, so each is asked with itself left out. F is
that of mir_eval.beat, hits within 70 ms. The peer is librosa's beat tracker on an envelope of the
same onsets. How far a player swings is reckoned on the grid and on the annotated beats.
"""

import json
from pathlib import Path
from typing import Any

import click
import librosa
import mir_eval
import numpy as np

from bench.scoring.provenance import provenance
from stackline.listen.attacks.swing_ratio import swing_ratio
from stackline.listen.other_sounds.clicks import NO_CLICKS, Clicks
from stackline.listen.time.beats import find_beats
from stackline.listen.time.time_hints import TimeHints
from stackline.shared.files import write_text
from stackline.shared.notes import Attack, Beat, BeatGrid, Note

TRIOS = Path(__file__).parent / "trios.json"
RESULT = Path(__file__).parents[1] / "results" / "trios.json"
SECONDS = 90.0
ROWS = {
    "piano": (("piano",), False),
    "piano, tempo given": (("piano",), True),
    "piano and bass": (("piano", "bass"), False),
    "piano and drums": (("piano", "drums"), False),
    "all three": (("piano", "bass", "drums"), False),
}
_FRAMES_PER_S = 100


def tracks() -> list[dict[str, Any]]:
    """The annotated tracks."""
    return list(json.loads(TRIOS.read_text(encoding="utf-8"))["tracks"])


def attacks_at(times_s: np.ndarray) -> list[Attack]:
    """Attacks of one note; the annotations have no pitch."""
    notes = [
        Note(onset_s=at, offset_s=at + 0.2, midi=60, velocity=70, confidence=1.0)
        for at in map(float, times_s)
    ]
    return [Attack(onset_s=one.onset_s, spread_s=0.0, struck=(one,), held=()) for one in notes]


def measure(index: int, parts: tuple[str, ...], *, tempo_given: bool) -> dict[str, float | None]:
    """One track, left out of what was learnt."""
    row = tracks()[index]
    beats = np.array([beat[0] for beat in row["beats"]])
    numbers = np.array([beat[2] for beat in row["beats"]])
    kept = beats < beats[0] + SECONDS
    beats, numbers = beats[kept], numbers[kept]
    onsets = {
        part: np.unique([at for at in row[part] if at < beats[0] + SECONDS]) for part in parts
    }
    bpm = 60.0 / float(np.median(np.diff(beats)))
    attacks = attacks_at(onsets["piano"])
    grid = find_beats(
        attacks,
        clicks=_clicks(onsets["drums"]) if "drums" in onsets else NO_CLICKS,
        bass_s=onsets.get("bass", ()),
        hints=TimeHints(tempo_bpm=bpm if tempo_given else None),
        leave_out=index,
    )
    found = np.array([beat.time_s for beat in grid.beats])
    ones = np.array([beat.time_s for beat in grid.beats if beat.number == 1])
    true = BeatGrid(
        beats=tuple(
            Beat(time_s=float(t), number=int(n)) for t, n in zip(beats, numbers, strict=True)
        )
    )
    return {
        "beat_f": _f(beats, found),
        "downbeat_f": _f(beats[numbers == 1], ones),
        "tempo_right": float(grid.tempo_bpm is not None and abs(grid.tempo_bpm / bpm - 1) <= 0.04),
        "swing": swing_ratio(attacks, grid),
        "true_swing": swing_ratio(attacks, true),
        "peer_beat_f": _f(
            beats, _peer(np.concatenate(list(onsets.values())), bpm if tempo_given else None)
        ),
    }


def _f(true: np.ndarray, found: np.ndarray) -> float:
    return float(mir_eval.beat.f_measure(true, found)) if len(found) else 0.0


def _clicks(times_s: np.ndarray) -> Clicks:
    count = len(times_s)
    return Clicks(
        time_s=times_s,
        strength=np.ones(count),
        gone_db=np.full(count, 15.0),
        alone=np.ones(count, bool),
    )


def _peer(times_s: np.ndarray, bpm: float | None) -> np.ndarray:
    """librosa.beat.beat_track on an envelope with a peak at each onset."""
    envelope = np.zeros(int((times_s.max() + 1.0) * _FRAMES_PER_S))
    envelope[np.rint(times_s * _FRAMES_PER_S).astype(int)] = 1.0
    _, frames = librosa.beat.beat_track(
        onset_envelope=envelope, sr=_FRAMES_PER_S * 512, hop_length=512, bpm=bpm
    )
    return np.asarray(frames) / _FRAMES_PER_S


@click.command()
@click.option("--out", type=click.Path(path_type=Path), default=RESULT, show_default=False)
def main(out: Path) -> None:
    """Score our beats and librosa's on all tracks."""
    table: dict[str, Any] = {}
    lines = ["# Beats of 17 annotated trios, each left out of what was learnt", ""]
    lines += [
        "| | beat F | librosa's | first of the bar F | tempo right |",
        "|---|---:|---:|---:|---:|",
    ]
    for name, (parts, given) in ROWS.items():
        rows = [measure(i, parts, tempo_given=given) for i in range(len(tracks()))]
        keys = ("beat_f", "peer_beat_f", "downbeat_f", "tempo_right")
        means = {key: round(float(np.mean([row[key] or 0.0 for row in rows])), 3) for key in keys}
        table[name] = means | {"tracks": rows}
        lines.append(f"| {name} | " + " | ".join(f"{means[key]:.3f}" for key in keys) + " |")
        click.echo(lines[-1])
    write_text(out, json.dumps(provenance() | {"rows": table}, indent=1) + "\n")
    write_text(out.with_suffix(".md"), "\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
