"""Rhythms of players, counted: ``python -m training.classifiers.count_rhythms TRIOS OUT``.

For every track and part: how many onsets stand at each of 24 places of each beat of the bar, those
that go on, those before a rest and those before a long one apart; and the tempo. TRIOS is
`bench/beats/trios.json` (source and licence stand in it).
"""

import json
from pathlib import Path

import click
import numpy as np

from stackline.listen.time.rhythms import RESTS, rests_after

BINS = 24
PARTS = ("piano", "bass", "drums")


def counts(beats: np.ndarray, numbers: np.ndarray, onsets_s: np.ndarray, meter: int) -> np.ndarray:
    """Onsets at each place of the bar, (BINS * meter,)."""
    at = np.searchsorted(beats, onsets_s, side="right") - 1
    inside = (at >= 0) & (at < len(beats) - 1)
    at, onsets_s = at[inside], onsets_s[inside]
    place = (onsets_s - beats[at]) / (beats[at + 1] - beats[at]) + numbers[at] - 1
    n = BINS * meter
    return np.histogram((place + 0.5 / BINS) % meter, bins=n, range=(0, meter))[0]


def of_track(row: dict) -> dict:
    """What is kept of one track."""
    beats = np.array([beat[0] for beat in row["beats"]])
    numbers = np.array([beat[2] for beat in row["beats"]])
    meter = int(numbers.max())
    return {
        "bpm": round(60 / float(np.median(np.diff(beats))), 1),
        "meter": meter,
        "beats": len(beats),
        **{part: by_rest(beats, numbers, np.unique(row[part]), meter) for part in PARTS},
    }


def by_rest(
    beats: np.ndarray, numbers: np.ndarray, onsets_s: np.ndarray, meter: int
) -> list[list[int]]:
    """The counts of each kind of rest after an onset (`rhythms.rests_after`)."""
    rest = rests_after(onsets_s)
    return [counts(beats, numbers, onsets_s[rest == one], meter).tolist() for one in range(RESTS)]


@click.command()
@click.argument("trios", type=click.Path(path_type=Path, exists=True))
@click.argument("out", type=click.Path(path_type=Path))
def main(trios: Path, out: Path) -> None:
    """Count and write."""
    data = json.loads(trios.read_text(encoding="utf-8"))
    rows = [of_track(row) for row in data["tracks"]]
    lines = ",\n  ".join(json.dumps(row, separators=(",", ":")) for row in rows)
    out.write_text(
        '{"source": "Jazz Trio Database, manual annotations, MIT Licence; counted by '
        'training/classifiers/count_rhythms.py",\n'
        f' "bins": {BINS},\n "tracks": [\n  {lines}\n ]}}\n',
        encoding="utf-8",
    )


if __name__ == "__main__":
    main()
