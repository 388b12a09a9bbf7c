"""How well practice of chord symbols is reviewed: made takes of many ways to play them.

`fixtures.played.symbol_takes` plays ten progressions in the ways of `symbol_ways`, takes of seven
passes and of one, with notes that contradict a symbol planted in two of five passes. Scored are

    clean            passes with nothing against the symbols: found in their key, without a fault
    contradictions   passes with one: found in their key, with a fault at that chord
    passes           of those reported, how many were played
    hesitations      searches of 2.5 to 4 beats before a chord: told at that chord, and of those
                     told how many were searched; and what is told in comped passes with
                     anticipations, in which nobody hesitates
    invented         passes reported a minute in free comping over other chords

Choices are settled on ``train``, whose ways and seeds are others. Beside our own progressions stand
stretches of real tunes, dressed by another pen (`fixtures.played.tune_takes`).
"""

from dataclasses import dataclass, field
from typing import Any

from bench.scoring.pooled import Rate
from fixtures.forms.symbol_ways import PROGRESSIONS, SetName
from fixtures.played.symbol_takes import WayPass, WayTake, make_ways
from fixtures.played.takes import FREE, LISTED, make_take
from fixtures.played.truth import TrueTake
from fixtures.played.tune_takes import make_tune
from stackline.listen.attacks.attacks import find_attacks
from stackline.practice.finding.gestures import gestures
from stackline.practice.review.review_records import PassReview, Review
from stackline.practice.review.reviewing import review_gestures
from stackline.practice.targets.target_text import parse_target
from stackline.practice.targets.targets import Target
from stackline.practice.written.fault_words import in_words
from stackline.shared.notes import Note
from stackline.theory.chords.qualities import quality

FIRST_SEED = {"train": 0, "dev": 200_000}
NEAR_S = 0.5


def review_notes(take: TrueTake, target: Target) -> Review:
    """Review a take from the notes that were really played."""
    notes = tuple(
        Note(onset_s=note.onset_s, offset_s=note.offset_s, midi=note.midi,
             velocity=note.velocity, confidence=1.0)
        for note in take.notes
    )  # fmt: skip
    return review_gestures(gestures(find_attacks(notes)), target, take.name)


@dataclass(kw_only=True)
class Counted:
    """Counts over many takes. misses: in words."""

    clean: int = 0
    clean_right: int = 0
    against: int = 0
    against_right: int = 0
    reported: int = 0
    reported_right: int = 0
    searched: int = 0
    searched_right: int = 0
    hesitations: int = 0
    hesitations_right: int = 0
    comped: int = 0
    comped_hesitating: int = 0
    minutes: float = 0.0
    invented: int = 0
    misses: list[str] = field(default_factory=list)

    def rates(self) -> dict[str, Rate]:
        """The figures that are promised."""
        return {
            "clean passes told clean": Rate(right=self.clean_right, total=self.clean),
            "contradictions found": Rate(right=self.against_right, total=self.against),
            "passes reported that were played": Rate(
                right=self.reported_right, total=self.reported
            ),
            "hesitation recall": Rate(right=self.searched_right, total=self.searched),
            "hesitation precision": Rate(right=self.hesitations_right, total=self.hesitations),
            "comped passes told hesitating": Rate(right=self.comped_hesitating, total=self.comped),
        }


def score_ways(made: WayTake, found: Review, into: Counted, *, timed: bool) -> None:
    """Count one take. timed: its hesitations count as well."""
    left = list(found.passes)
    for true in made.passes:
        match = next(
            (one for one in left if one.key == true.key
             and abs(one.start_s - true.start_s) < NEAR_S), None,
        )  # fmt: skip
        if match is not None:
            left.remove(match)
        _score_notes(made, true, match, into)
        if timed and match is not None:
            _score_time(true, match, into)
    into.reported += len(found.passes)
    into.reported_right += len(found.passes) - len(left)
    for one in left:
        into.misses.append(f"{made.take.name} {made.text}: no pass in {one.key_name} at "
                           f"{one.start_s:.1f} s")  # fmt: skip


def _score_notes(made: WayTake, true: WayPass, match: PassReview | None, into: Counted) -> None:
    faults = [one for one in match.faults if one.kind != "hesitation"] if match else []
    words = "; ".join(in_words(made.target, one) for one in faults) if match else "not found"
    if true.against is None:
        right = match is not None and not faults
        into.clean += 1
        into.clean_right += right
    else:
        chord = true.against[0]
        into.against += 1
        right = any(
            one.chord == chord or (one.kind == "did not resolve" and one.chord == chord - 1)
            for one in faults
        )
        into.against_right += right
    if not right:
        into.misses.append(
            f"{made.take.name} {made.text} key {true.key} at {true.start_s:.1f} s, "
            f"against {true.against}: {words}"
        )


def _score_time(true: WayPass, match: PassReview, into: Counted) -> None:
    told = [one.chord for one in match.faults if one.kind == "hesitation"]
    into.hesitations += len(told)
    if true.searched is None:
        into.comped += 1
        into.comped_hesitating += bool(told)
    else:
        into.searched += 1
        into.searched_right += true.searched - 1 in told
        into.hesitations_right += true.searched - 1 in told


def score_free(seed: int, into: Counted) -> None:
    """Free comping reviewed against all ten progressions; passes that it does hold are left out."""
    take = make_take(seed, LISTED if seed % 2 else FREE)
    for text, _ in PROGRESSIONS:
        target = parse_target(text)
        into.minutes += take.duration_s / 60.0
        for one in review_notes(take, target).passes:
            if not _is_there(one, target, take):
                into.invented += 1


def _is_there(one: PassReview, target: Target, take: TrueTake) -> bool:
    """Whether the chords of a pass are those that the player meant."""
    for voicing in one.voicings:
        meant = min(take.attacks, key=lambda a: abs(a.onset_s - voicing.onset_s)).chord
        chord = target.chords[voicing.chord]
        root = chord.root_pc(one.key)
        if meant is None or meant.root_pc != root:
            return False
        if quality(meant.quality).family != chord.row.family:
            return False
    return True


def run_symbols(ways: SetName, takes: int) -> Counted:
    """Every figure on so many takes of each sort."""
    counted = Counted()
    first = FIRST_SEED[ways]
    for seed in range(first, first + takes):
        for keys in (7, 1):
            made = make_ways(seed, ways, keys=keys)
            score_ways(made, review_notes(made.take, made.target), counted, timed=False)
        made = make_ways(seed, ways, rhythm="comped", searches=True)
        score_ways(made, review_notes(made.take, made.target), counted, timed=True)
    for seed in range(first + 500, first + 500 + max(1, takes // 20)):
        score_free(seed, counted)
    return counted


def run_tunes(ways: SetName, takes: int) -> Counted:
    """The same of stretches of real tunes: odd ones to choose by, even ones to quote."""
    counted = Counted()
    first, odd = FIRST_SEED[ways], ways == "train"
    for seed in range(first, first + takes):
        for keys in (5, 1):
            made = make_tune(seed, odd=odd, keys=keys)
            score_ways(made, review_notes(made.take, made.target), counted, timed=False)
        made = make_tune(seed, odd=odd, rhythm="comped", searches=True)
        score_ways(made, review_notes(made.take, made.target), counted, timed=True)
    return counted


def table(counted: Counted, heading: str) -> str:
    """The figures in Markdown."""
    lines = [f"## {heading}", "", "| figure | value | counts |", "|---|---|---|"]
    for name, rate in counted.rates().items():
        lines.append(f"| {name} | {rate.value:.3f} | {rate.right} of {rate.total} |")
    if not counted.minutes:
        return "\n".join(lines) + "\n"
    per_minute = counted.invented / counted.minutes
    lines.append(
        f"| passes invented a minute of free comping | {per_minute:.2f} | "
        f"{counted.invented} in {counted.minutes:.0f} minutes |"
    )
    return "\n".join(lines) + "\n"


def as_data(counted: Counted) -> dict[str, Any]:
    """The figures as plain data."""
    rates = {
        name: {"value": rate.value, "right": rate.right, "total": rate.total,
               "interval_95": rate.interval}
        for name, rate in counted.rates().items()
    }  # fmt: skip
    return {"rates": rates, "invented": counted.invented, "free_minutes": counted.minutes}
