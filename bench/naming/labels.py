"""How often the labeller is right on generated progressions, and its controls: no bass.

Run ``python -m bench.naming.labels`` (``--quick`` for a look). Everything is played by
`fixtures.forms.progressions` from the seeds below, with shapes that the labeller knows; figures
on another pen's voicings and on real changes are those of `bench.naming.dressed_names`. Nothing is
fitted to any of these.

Right means root and family of the truth. "In three" means that the truth is the first
reading or one of the next two. Controls: the same voicings in shuffled order; the same with
half or all of the shapes unknown to the labeller. "Right or a stated equivalent" means that the
truth is the reading, or an alternative whose reason says that the notes are the same or fit.
Peers, on the same voicings, in the same
run: what music21, pychord and mingus call them (first answer), as they are and with the
root added below.

Results go to bench/results/labels.json and labels.txt.
"""

import argparse
import json
import random
import time
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from fixtures.forms.dressing import Dressed
from fixtures.forms.progressions import FORMS, Played, form, generated, guide_tone_shells, voiced
from stackline.shared.files import write_text
from stackline.shared.harmony import ChordSymbol
from stackline.shared.notes import Attack, BeatGrid, Note
from stackline.theory.chords.qualities import FAMILIES, quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.labelling.heard import heard_spans
from stackline.theory.labelling.labeller import label
from stackline.theory.labelling.reasons import NOTES_FIT, SAME_NOTES
from stackline.theory.labelling.step_scores import scored
from stackline.theory.reading import read
from stackline.theory.sounding import Sounding, soundings
from stackline.theory.stacks.shapes import Shape, shapes

QUOTED_SEEDS = (90210, 90211, 90212)
RESULTS = Path(__file__).parent.parent / "results"
SECONDS_A_CHORD = 2.0
MISSING, EXTRA = 0.10, 0.20
SURE = 0.9


@dataclass(frozen=True, kw_only=True)
class Score:
    """Figures over one set of voicings; shares 0..1."""

    n: int
    right: float
    rootless: float
    in_three: float
    right_where_sure: float
    sure: float

    def __str__(self) -> str:
        return (
            f"n {self.n:5d}  right {self.right:.3f}  rootless only {self.rootless:.3f}  "
            f"in three {self.in_three:.3f}  right where sure {self.right_where_sure:.3f}  "
            f"sure {self.sure:.3f}"
        )


def attacks_of(played: Sequence[Played | Dressed]) -> list[Attack]:
    """One attack per voicing, evenly spaced, nothing held."""
    attacks = []
    for i, one in enumerate(played):
        onset = i * SECONDS_A_CHORD
        struck = tuple(
            Note(onset_s=onset, offset_s=onset + 1.5, midi=p, velocity=64, confidence=1.0)
            for p in one.pitches
        )
        attacks.append(Attack(onset_s=onset, spread_s=0.0, struck=struck))
    return attacks


def steps_of(played: Sequence[Played | Dressed]) -> list[Sounding]:
    """The same as the labeller sees them."""
    return list(soundings(attacks_of(played)))


def state_of(one: Played) -> int:
    """The truth as the labeller numbers it: root * 6 + family."""
    return one.root_pc * len(FAMILIES) + FAMILIES.index(one.family)


def score(takes: Sequence[Sequence[Played]], known: tuple[Shape, ...] | None = None) -> Score:
    """Label every take by itself and count."""
    rows = []
    for played in takes:
        chances = label(scored(steps_of(played), known)).chords
        rows += list(zip(played, chances, strict=True))
    return _counted(rows)


def _counted(pairs: Sequence[tuple[Played, np.ndarray]]) -> Score:
    """Figures over voicings and their rows of chances."""
    rows = []
    for one, row in pairs:
        order = np.argsort(-row, kind="stable")
        truth = state_of(one)
        rows.append((order[0] == truth, truth in order[:3], row[order[0]] >= SURE, one.rootless))
    right, three, sure, rootless = (
        np.array(column, dtype=bool) for column in zip(*rows, strict=True)
    )
    return Score(
        n=len(rows),
        right=float(right.mean()),
        rootless=float(right[rootless].mean()) if rootless.any() else float("nan"),
        in_three=float(three.mean()),
        right_where_sure=float(right[sure].mean()) if sure.any() else float("nan"),
        sure=float(sure.mean()),
    )


def score_touched(takes: Sequence[Sequence[Played]]) -> Score:
    """The same with the root touched low, half a chord after each stack."""
    rows = []
    for played in takes:
        attacks = []
        for attack, one in zip(attacks_of(played), played, strict=True):
            onset = attack.onset_s + SECONDS_A_CHORD / 2
            low = Note(
                onset_s=onset, offset_s=onset + 0.5, midi=36 + one.root_pc, velocity=60,
                confidence=1.0,
            )  # fmt: skip
            attacks += [
                attack,
                Attack(onset_s=onset, spread_s=0.0, struck=(low,), held=attack.struck),
            ]
        chances = label(scored(soundings(attacks))).chords[::2]
        rows += list(zip(played, chances, strict=True))
    return _counted(rows)


def stated_equivalent(takes: Sequence[Sequence[Played]]) -> dict[str, float]:
    """Shares of voicings whose truth is the reading, or an alternative said to be a tie.

    "same notes": the reason says that the truth's chord is the same notes; "or the notes fit":
    that, or that the notes fit it without a guide tone.
    """
    right = same = fit = total = 0
    for played in takes:
        spans = heard_spans(scored(steps_of(played)), SECONDS_A_CHORD * len(played))
        for one, span in zip(played, spans, strict=True):
            total += 1
            if span is None:
                continue
            reasons = [a.reason for a in span.alternatives if _is(a.symbol, one)]
            is_right = _is(span.symbol, one)
            right += is_right
            same += is_right or any(r.startswith(SAME_NOTES) for r in reasons)
            fit += is_right or any(r.startswith((SAME_NOTES, NOTES_FIT)) for r in reasons)
    return {
        "n": total,
        "right": right / total,
        "or the same notes": same / total,
        "or the notes fit": fit / total,
    }


def _is(symbol: ChordSymbol, one: Played) -> bool:
    """Whether a symbol has the root and family of the truth."""
    return (
        pitch_class_of(symbol.root) == one.root_pc and quality(symbol.quality).family == one.family
    )


def rooted(one: Played) -> Played:
    """The same stack with its root below."""
    root = one.pitches[0] - (one.pitches[0] - one.root_pc) % 12
    return replace(one, pitches=tuple(sorted({root, *one.pitches})))


def generated_takes(seeds: Sequence[int], count: int) -> list[list[Played]]:
    """Takes of four phrases each, `count` per seed."""
    takes = []
    for seed in seeds:
        rng = random.Random(seed)
        takes += [voiced(generated(rng), rng) for _ in range(count)]
    return takes


def form_takes(
    seed: int, keys: int, play: Callable[[Sequence[tuple[int, str]], random.Random], list[Played]]
) -> list[list[Played]]:
    """Every form in a few drawn keys."""
    rng = random.Random(seed)
    return [
        play(form(text, up=up), rng)
        for text in FORMS.values()
        for up in rng.sample(range(12), keys)
    ]


def shuffled(takes: Sequence[Sequence[Played]], seed: int) -> list[list[Played]]:
    """All voicings in one drawn order, cut into takes of the same lengths."""
    every = [one for played in takes for one in played]
    random.Random(seed).shuffle(every)
    lengths = [len(played) for played in takes]
    ends = np.cumsum(lengths)
    return [every[end - length : end] for end, length in zip(ends, lengths, strict=True)]


def damaged(takes: Sequence[Sequence[Played]], seed: int) -> list[list[Played]]:
    """Notes missing and added, as an ear would err; at least two pitch classes are left."""
    rng = random.Random(seed)
    found = []
    for played in takes:
        row = []
        for one in played:
            kept = {p for p in one.pitches if rng.random() >= MISSING}
            if rng.random() < EXTRA:
                kept.add(rng.randrange(45, 85))
            if len({p % 12 for p in kept}) >= 2:
                row.append(replace(one, pitches=tuple(sorted(kept))))
        found.append(row)
    return found


# Shells alone cannot tell these forms from others: every chord is a dominant, and the form a
# tritone away has the same shells throughout; every chord is suspended, and each 4-b7 is the
# b3-b7 of a minor 7th a fifth above.
SYMMETRIC = ("rhythm changes, bridge", "cycle of dominants", "sus vamp")

NAMES = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
PITCH = {name: pc for pc, name in enumerate(NAMES)} | {
    "C#": 1, "D#": 3, "F#": 6, "G#": 8, "A#": 10, "Cb": 11, "Fb": 4, "E#": 5, "B#": 0,
}  # fmt: skip
Answer = tuple[int, str] | None


def family_of_text(text: str) -> str:
    """The family of another library's quality text (its own spellings)."""
    low = text.lower()
    if "sus" in low:
        return "suspended"
    if "half" in low or "m7b5" in low or "m7-5" in low or "ø" in low:
        return "half-diminished"
    if "dim" in low or low.startswith("o"):
        return "diminished"
    if "maj" in low or text.startswith("M"):
        return "minor" if low.startswith("min") or text.startswith(("m/M", "mM", "mm")) else "major"
    if low.startswith(("m", "min", "-")) and not text.startswith("M"):
        return "minor"
    if low.startswith(("7", "9", "11", "13", "dom", "aug7", "+7")):
        return "dominant"
    return "major"


def by_music21(pitches: Sequence[int]) -> Answer:
    """What music21 calls the notes."""
    from music21 import chord, harmony

    found = harmony.chordSymbolFromChord(chord.Chord([int(p) for p in pitches]))
    if found is None or not found.chordKind:
        return None
    kind = found.chordKind.replace("major-minor", "minmaj").replace("seventh-flat-five", "7")
    kind = {"augmented-seventh": "7"}.get(kind, kind.replace("dominant", "dom"))
    root = found.root()
    return None if root is None else (root.pitchClass, family_of_text(kind))


def by_pychord(pitches: Sequence[int]) -> Answer:
    """What pychord calls the notes."""
    from pychord import find_chords_from_notes

    names = list(dict.fromkeys(NAMES[p % 12] for p in pitches))
    found = find_chords_from_notes(names)
    if not found:
        return None
    return PITCH[found[0].root], family_of_text(str(found[0].quality))


def by_mingus(pitches: Sequence[int]) -> Answer:
    """What mingus calls the notes."""
    from mingus.core import chords

    names = list(dict.fromkeys(NAMES[p % 12] for p in pitches))
    found = chords.determine(names, True)
    if not found:
        return None
    first = found[0].split("|")[0].split("/")[0] if "6/9" not in found[0] else found[0]
    root = first[:2] if first[1:2] in ("b", "#") else first[:1]
    return (PITCH[root], family_of_text(first[len(root) :])) if root in PITCH else None


def peer(takes: Sequence[Sequence[Played]], call: Callable[[Sequence[int]], Answer]) -> float:
    """Share of voicings whose first answer has the true root and family."""
    right = total = 0
    for played in takes:
        for one in played:
            total += 1
            try:
                right += call(one.pitches) == (one.root_pc, one.family)
            except Exception:  # a library that fails on a stack has not named it
                continue
    return right / total


def speeds(count: int = 1000) -> dict[str, float]:
    """Seconds for `count` voicings: chances alone, and the whole reading."""
    played = [one for take in generated_takes((7,), 120) for one in take][:count]
    steps, attacks = steps_of(played), attacks_of(played)
    label(scored(steps[:10]))
    read(attacks[:10], BeatGrid(), end_s=100.0)
    start = time.perf_counter()
    label(scored(steps))
    middle = time.perf_counter()
    read(attacks, BeatGrid(), end_s=1e6)
    end = time.perf_counter()
    return {"voicings": len(played), "label_s": middle - start, "read_s": end - middle}


def run(quick: bool) -> dict[str, object]:
    """Every figure."""
    count, keys = (20, 1) if quick else (120, 3)
    takes = generated_takes(QUOTED_SEEDS, count)
    forms = form_takes(QUOTED_SEEDS[0], keys, voiced)
    half = tuple(random.Random(4).sample(shapes(), len(shapes()) // 2))
    figures: dict[str, object] = {
        "generated": score(takes),
        "generated, right or a stated equivalent": stated_equivalent(takes),
        "generated, shuffled order": score(shuffled(takes, 5)),
        "generated, half of the shapes unknown": score(takes, half),
        "generated, no shapes known": score(takes, ()),
        "generated, 10 % missing and 0.2 extra": score(damaged(takes, 6)),
        "forms": score(forms),
        "forms, right or a stated equivalent": stated_equivalent(forms),
        "forms, shuffled order": score(shuffled(forms, 5)),
        "forms, half of the shapes unknown": score(forms, half),
        "forms, two-note shells": score(form_takes(QUOTED_SEEDS[1], keys, guide_tone_shells)),
        "shells, without the symmetric forms": score(
            [
                played
                for i, played in enumerate(form_takes(QUOTED_SEEDS[1], keys, guide_tone_shells))
                if tuple(FORMS)[i // keys] not in SYMMETRIC
            ]
        ),
        "forms, 10 % missing and 0.2 extra": score(damaged(forms, 6)),
        "speed": speeds(),
    }
    figures |= {
        "forms, shells with the root touched after": score_touched(
            form_takes(QUOTED_SEEDS[1], keys, guide_tone_shells)
        ),
    }
    for name, text in FORMS.items():
        rng = random.Random(QUOTED_SEEDS[2])
        ups = rng.sample(range(12), keys)
        played = [voiced(form(text, up=up), rng) for up in ups]
        shells = [guide_tone_shells(form(text, up=up), rng) for up in ups]
        figures[f"form: {name}"] = {"right": score(played).right, "shells": score(shells).right}
    some = takes[: 10 if quick else 60]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for name, call in (("music21", by_music21), ("pychord", by_pychord), ("mingus", by_mingus)):
            figures[f"peer {name}"] = {
                "n": sum(map(len, some)),
                "right": peer(some, call),
                "rootless only": peer([[p for p in t if p.rootless] for t in some], call),
                "rootless, root added below": peer(
                    [[rooted(p) for p in t if p.rootless] for t in some], call
                ),
            }
    figures["the labeller on the peers' voicings"] = score(some)
    return figures


def main() -> None:
    """Measure, print, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="fewer takes, nothing written")
    arguments = parser.parse_args()
    figures = run(arguments.quick)
    lines = [f"{name:42s} {value}" for name, value in figures.items()]
    print("\n".join(lines))
    if not arguments.quick:
        RESULTS.mkdir(exist_ok=True)
        data = {
            name: vars(value) if isinstance(value, Score) else value
            for name, value in figures.items()
        }
        write_text(RESULTS / "labels.json", json.dumps(data, indent=2) + "\n")
        write_text(RESULTS / "labels.txt", "\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
