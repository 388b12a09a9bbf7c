"""What talk and other sounds cost: ``python -m bench.sorting.speech --bank FOLDER``.

Made lessons (`lessons`) are heard without company and with each kind of it, by the ear
with everything that follows it. Figures of a row:

* false per s: heard attacks without a true partner inside the company's spans, for each second
  of them; and the same count in the lessons without company (`alone`), which is what the ear
  makes of ringing chords by itself.
* exact: the share of true attacks whose struck set is heard exactly, with company and alone,
  and the difference in points.
* found: the share of the company's time that is marked as not playing; of that, the share
  called by its right name. grey: the share of the other time that is marked.

Settle choices on ``--split train``; quote ``--split dev``: other instruments, voices, texts
and seeds. Results go to bench/results/speech-SPLIT.json.
"""

import json
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click
import numpy as np
import soundfile

from bench.scoring.pooled import Rate
from bench.scoring.provenance import provenance
from bench.scoring.scoring import match_attacks
from fixtures.sounded.bank import load_bank
from fixtures.sounded.lessons import (
    BAND,
    COMPANY,
    FIRST_SEED,
    Company,
    Lesson,
    Span,
    record_band,
    record_lesson,
)
from fixtures.sounded.scenes import Studio
from stackline.listen.ear import Ear
from stackline.listen.hearing import Hearing, hear
from stackline.shared.complaint import Complaint
from stackline.shared.files import write_text

RESULTS = Path(__file__).parent.parent / "results"
MOST_FALSE_PER_S, MOST_POINTS = 0.02, 2.0
STEP_S = 0.05  # spans are compared at this grain
CALLED = {"talk": "talk", "applause": "applause", "taps": "not playing", "page": "not playing"}


@dataclass(frozen=True, kw_only=True)
class Score:
    """One lesson heard once. Seconds and counts; see the module."""

    exact: int
    attacks: int
    false_inside: int
    false_all: int
    company_s: float
    other_s: float
    found_s: float
    named_s: float
    grey_s: float
    sure_wrong: int
    sure: int


def hear_lesson(lesson: Lesson, ear: Ear) -> Hearing:
    """What the ear and all that follows it make of a lesson's file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "lesson.wav"
        soundfile.write(path, lesson.samples, lesson.rate_hz, subtype="PCM_16")
        return hear(path, ear=ear)


def score(lesson: Lesson, hearing: Hearing, inside: Sequence[Span]) -> Score:
    """Count one hearing. inside: the spans in which false attacks are counted."""
    partner = match_attacks(lesson.take.attacks, hearing.attacks)
    matched = {index for index in partner if index is not None}
    false = [a.onset_s for i, a in enumerate(hearing.attacks) if i not in matched]
    exact = [
        index
        for true, index in zip(lesson.take.attacks, partner, strict=True)
        if index is not None
        and tuple(sorted(note.midi for note in hearing.attacks[index].struck)) == true.pitches
    ]
    sure = [
        i for i, one in enumerate(hearing.attacks)
        if min(note.confidence for note in one.struck) >= 0.9
    ]  # fmt: skip
    times = np.arange(0.0, lesson.take.duration_s, STEP_S)
    company = covered(times, lesson.company_s)
    marked = covered(times, [(one.start_s, one.end_s) for one in hearing.not_playing])
    named = covered(
        times,
        [
            (one.start_s, one.end_s)
            for one in hearing.not_playing
            if one.kind == CALLED.get(lesson.kind)
        ],
    )
    return Score(
        exact=len(exact),
        attacks=len(lesson.take.attacks),
        false_inside=sum(any(a <= t < b for a, b in inside) for t in false),
        false_all=len(false),
        company_s=float(company.sum() * STEP_S),
        other_s=float((~company).sum() * STEP_S),
        found_s=float((company & marked).sum() * STEP_S),
        named_s=float((company & named).sum() * STEP_S),
        grey_s=float((~company & marked).sum() * STEP_S),
        sure_wrong=sum(i not in exact for i in sure),
        sure=len(sure),
    )


def covered(times: np.ndarray, spans: Sequence[Span]) -> np.ndarray:
    """Which times lie in a span."""
    found = np.zeros(len(times), bool)
    for start_s, end_s in spans:
        found |= (times >= start_s) & (times < end_s)
    return found


def row(name: str, company: Sequence[Score], alone: Sequence[Score]) -> dict[str, Any]:
    """A row of the results from the same lessons with and without company."""
    with_it, without = _exact(company), _exact(alone)
    seconds = sum(one.company_s for one in company)
    found = sum(one.found_s for one in company)
    other = sum(one.other_s for one in company)
    points = None
    if with_it.value is not None and without.value is not None:
        points = 100 * (without.value - with_it.value)
    return {
        "company": name,
        "company_s": round(seconds, 1),
        "false_per_s": _part(sum(one.false_inside for one in company), seconds),
        "false_per_s_alone": _part(sum(one.false_inside for one in alone), seconds),
        "false_all": sum(one.false_all for one in company),
        "exact": with_it.value,
        "exact_alone": without.value,
        "interval_95": with_it.interval,
        "attacks": with_it.total,
        "points_lost": points,
        "found": _part(found, seconds),
        "named_right": _part(sum(one.named_s for one in company), found),
        "grey_elsewhere": _part(sum(one.grey_s for one in company), other),
        "sure": sum(one.sure for one in company),
        "sure_wrong": sum(one.sure_wrong for one in company),
        "sure_wrong_alone": sum(one.sure_wrong for one in alone),
    }


def _exact(scores: Sequence[Score]) -> Rate:
    return Rate(right=sum(one.exact for one in scores), total=sum(one.attacks for one in scores))


def _part(count: float, of: float) -> float | None:
    return round(count / of, 4) if of else None


def run(
    ear: Ear, studio: Studio, lessons: int, first: int, kinds: Sequence[Company]
) -> list[dict[str, Any]]:
    """All rows: lessons alone, with each company, and takes with a band."""
    seeds = range(FIRST_SEED[studio.split] + first, FIRST_SEED[studio.split] + first + lessons)
    quiet = [record_lesson(seed, studio, None) for seed in seeds]
    heard = [hear_lesson(lesson, ear) for lesson in quiet]
    alone = [score(*pair, ()) for pair in zip(quiet, heard, strict=True)]
    rows = [row("nobody", alone, alone)]
    _say(rows[-1])
    for company in kinds:
        with_it, without = [], []
        for seed, lesson, hearing in zip(seeds, quiet, heard, strict=True):
            mixed = record_lesson(seed, studio, company)
            with_it.append(score(mixed, hear_lesson(mixed, ear), mixed.company_s))
            without.append(score(lesson, hearing, mixed.company_s))
        rows.append(row(company.name, with_it, without))
        _say(rows[-1])
    band = [record_band(seed, studio) for seed in seeds]
    scores = [score(one, hear_lesson(one, ear), ()) for one in band]
    rows.append(row(BAND, scores, scores))
    _say(rows[-1])
    return rows


def _say(one: dict[str, Any]) -> None:
    def text(value: Any) -> str:
        return "    -" if value is None else f"{value:5.3f}"

    click.echo(
        f"{one['company']:<34} false/s {text(one['false_per_s'])} (alone "
        f"{text(one['false_per_s_alone'])})  exact {text(one['exact'])} of {one['attacks']}, "
        f"lost {text(one['points_lost'])} points  found {text(one['found'])} named "
        f"{text(one['named_right'])} grey elsewhere {text(one['grey_elsewhere'])}  "
        f"sure {one['sure']} wrong {one['sure_wrong']} (alone {one['sure_wrong_alone']})"
    )


def make_ear(name: str) -> Ear:
    """The ear of a name."""
    if name == "general":
        from stackline.listen.general.general_ear import GeneralEar

        return GeneralEar()
    from stackline.listen.piano.piano_ear import PianoEar

    return PianoEar()


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--ear", type=click.Choice(["piano", "general"]), default="piano", show_default=True)
@click.option("--split", type=click.Choice(["dev", "train"]), default="dev", show_default=True)
@click.option("--lessons", type=click.IntRange(1), default=12, show_default=True)
@click.option("--first", type=click.IntRange(0), default=0, help="Lessons to pass over.")
@click.option("--only", help="Only kinds of company whose name holds this text.")
@click.option("--out", type=click.Path(path_type=Path), help="The JSON file to write.")
def main(
    bank: Path, ear: str, split: str, lessons: int, first: int, only: str | None, out: Path | None
) -> None:
    """Measure what talk, applause and noise cost.

    Example: python -m bench.sorting.speech --bank ~/notes --split train --lessons 4
    """
    try:
        studio = Studio(
            players=load_bank(bank, split=split), company=load_bank(bank, split="train"),
            split=split,
        )  # fmt: skip
        kinds = [one for one in COMPANY if not only or only in one.name]
        rows = run(make_ear(ear), studio, lessons, first, kinds)
    except Complaint as complaint:
        raise click.ClickException(str(complaint)) from complaint
    facts = provenance() | {
        "ear": ear, "split": split, "lessons": lessons,
        "first_seed": FIRST_SEED[split] + first,
        "wanted": {"false_per_s": MOST_FALSE_PER_S, "points_lost": MOST_POINTS},
    }  # fmt: skip
    name = f"speech-{split}{'' if ear == 'piano' else f'-{ear}'}{'-part' if only else ''}.json"
    write_text(out or RESULTS / name, json.dumps({"made": facts, "rows": rows}, indent=1) + "\n")


if __name__ == "__main__":
    main()
