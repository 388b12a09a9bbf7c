"""A take against a target: every pass found, compared, and summed up by key.

`review` is the practice room's main door. It looks at what was struck, not at the names
that were given to it, so that a chord named wrongly changes nothing here.
"""

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

from stackline.practice.finding.gestures import Gesture, gestures
from stackline.practice.finding.pass_records import Arrival, Pass
from stackline.practice.finding.passes import find_passes
from stackline.practice.review.certainty import HARD
from stackline.practice.review.comparison import Compared, compare, octave_of, played_pitches
from stackline.practice.review.faults import hesitation, left_out, voicing_faults
from stackline.practice.review.hesitation import Timing, timing, waits
from stackline.practice.review.landings import is_cadence, landings
from stackline.practice.review.pass_tempo import pass_tempi
from stackline.practice.review.review_records import (
    FalseStart,
    Fault,
    KeyReview,
    Landing,
    PassReview,
    Review,
    TopNote,
    Verdict,
    VoicingReview,
)
from stackline.practice.targets.targets import Target
from stackline.shared.notes import BeatGrid
from stackline.shared.take import Take
from stackline.theory.motion.tally import ARRIVED, Count

SOLID_PASSES, SOLID_DAYS = 3, 2  # clean ones in a row, on so many days (ours)
CIRCLE = tuple(5 * i % 12 for i in range(12))  # C F Bb Eb ...: round the circle of fourths
NO_BEATS = BeatGrid()


def review(take: Take, target: Target) -> Review:
    """Review a whole take; a review without passes if the target was not played."""
    return review_gestures(gestures(take.attacks), target, take.source.name, grid=take.grid)


def review_gestures(
    played: Sequence[Gesture], target: Target, recording: str, *, grid: BeatGrid = NO_BEATS
) -> Review:
    """The same from gestures, and the beats under them where there are some."""
    rows = find_passes(played, target)
    finished = [row for row in rows if row.finished]
    take_timing = timing(finished, target)
    tempi = pass_tempi(finished, target, grid)
    passes = tuple(
        _review_pass(row, target, take_timing, bpm)
        for row, bpm in zip(finished, tempi, strict=True)
    )
    false_starts = tuple(
        FalseStart(
            key=row.key, start_s=row.start_s, reached=row.arrivals[-1].chord + 1, minor=target.minor
        )
        for row in rows
        if not row.finished
    )
    keys = tuple(_key_review(key, target.minor, passes, false_starts) for key in CIRCLE)
    return Review(
        target=target,
        recording=recording,
        passes=passes,
        false_starts=false_starts,
        keys=keys,
    )


def _review_pass(row: Pass, target: Target, take_timing: Timing, bpm: float | None) -> PassReview:
    played = [_played(one, target, row.key) for one in row.arrivals]
    octave = _octave(row, target, played)
    compared = [
        compare(
            pitches, target.chords[one.chord], row.key, _meant(target, one.chord, row.key, octave)
        )
        for one, pitches in zip(row.arrivals, played, strict=True)
    ]
    voicings = _voicings(row, target, compared)
    landed = _landings(row, target, played)
    timed = waits(row, target, take_timing)
    faults: list[Fault] = []
    for voicing in voicings:
        into = [one for one in landed if one.chord == voicing.chord - 1]
        faults += voicing_faults(target, voicing, into)
    least = min(one for voicing in voicings for one in voicing.note_sure)
    present = {one.chord for one in row.arrivals}
    faults += [
        left_out(chord, row.start_s, least)
        for chord in range(len(target.chords))
        if chord not in present
    ]
    faults += [hesitation(one, _onset(row, one.chord)) for one in timed if one.hesitated]
    ordered = sorted(faults, key=lambda one: (one.chord, one.at_s))
    return PassReview(
        key=row.key,
        start_s=row.start_s,
        end_s=row.end_s,
        tempo_bpm=bpm,
        voicings=voicings,
        landings=landed,
        waits=timed,
        faults=tuple(one for one in ordered if one.sure > HARD),
        doubts=tuple(one for one in ordered if one.sure <= HARD),
        minor=target.minor,
    )


def _onset(row: Pass, chord: int) -> float:
    arrival = row.arrival(chord)
    return arrival.main.onset_s if arrival else row.start_s


def _played(arrival: Arrival, target: Target, key: int) -> tuple[int, ...]:
    return played_pitches(arrival.main, target.chords[arrival.chord], key)


def _octave(row: Pass, target: Target, played: Sequence[tuple[int, ...]]) -> int:
    """The octave that most voicings of a pass are in; voicings played exactly weigh double."""
    votes: Counter[int] = Counter()
    for arrival, pitches in zip(row.arrivals, played, strict=True):
        place = target.places[arrival.chord]
        if place:
            octave, exact = octave_of(pitches, place, row.key)
            votes[octave] += 2 if exact else 1
    return votes.most_common(1)[0][0] if votes else 0


def _meant(target: Target, chord: int, key: int, octave: int) -> tuple[int, ...]:
    return tuple(pitch + key + 12 * octave for pitch in target.places[chord])


def _voicings(row: Pass, target: Target, compared: Sequence[Compared]) -> tuple[VoicingReview, ...]:
    found: list[VoicingReview] = []
    for arrival, one in zip(row.arrivals, compared, strict=True):
        before = found[-1].top.midi if found else None
        found.append(
            VoicingReview(
                chord=arrival.chord,
                onset_s=arrival.main.onset_s,
                compared=one,
                top=_top(target, arrival, one, before),
                note_sure=tuple(arrival.main.notes[pitch].confidence for pitch in one.pitches),
                put_right_s=None if one.right else _put_right(row, target, arrival, one),
            )
        )
    return tuple(found)


def _put_right(row: Pass, target: Target, arrival: Arrival, one: Compared) -> float | None:
    """How much later the voicing was struck again as meant."""
    chord = target.chords[arrival.chord]
    for gesture in arrival.later:
        again = compare(played_pitches(gesture, chord, row.key), chord, row.key, one.meant)
        if again.right:
            return gesture.onset_s - arrival.main.onset_s
    return None


def _top(target: Target, arrival: Arrival, one: Compared, before: int | None) -> TopNote:
    midi = arrival.main.struck[-1]
    played = one.degrees[one.pitches.index(midi)]
    meant = target.chords[arrival.chord].intended_top
    return TopNote(
        meant=meant,
        played=played,
        midi=midi,
        as_meant=meant is None or played == meant,
        semitones=None if before is None else midi - before,
    )


def _landings(row: Pass, target: Target, played: Sequence[tuple[int, ...]]) -> tuple[Landing, ...]:
    found: list[Landing] = []
    steps = zip(pairwise(row.arrivals), pairwise(played), strict=True)
    for (first, second), pitches in steps:
        neighbours = second.chord == first.chord + 1
        if neighbours and is_cadence(target.chords[first.chord], target.chords[second.chord]):
            found += landings(target, first.chord, row.key, first, second, pitches)
    return tuple(found)


def _key_review(
    key: int, minor: bool, passes: Sequence[PassReview], false_starts: Sequence[FalseStart]
) -> KeyReview:
    here = [one for one in passes if one.key == key]
    clean = [one for one in here if one.clean]
    tempos = [one.tempo_bpm for one in clean if one.tempo_bpm]
    return KeyReview(
        key=key,
        verdict=verdict([one.clean for one in here], days=1),
        passes=len(here),
        clean=len(clean),
        false_starts=sum(one.key == key for one in false_starts),
        landed=count_landed([one for each in here for one in each.landings]),
        best_bpm=max(tempos) if tempos else None,
        minor=minor,
    )


def verdict(clean: Sequence[bool], *, days: int) -> Verdict:
    """A key's verdict from its passes in order: were they clean?

    days: on how many days the last three of them were played.

    solid: the last three were, on two days at least (what holds overnight is learnt; common
    practice). coming: some was. not yet: none was.
    """
    if not clean:
        return "not played"
    if len(clean) >= SOLID_PASSES and all(clean[-SOLID_PASSES:]) and days >= SOLID_DAYS:
        return "solid"
    return "coming" if any(clean) else "not yet"


def count_landed(found: Sequence[Landing]) -> Count:
    """How many resolutions of how many arrived, in theory's sense."""
    outcomes: Counter[str] = Counter(one.resolution.outcome for one in found)
    return Count(
        due=len(found),
        landed=sum(n for outcome, n in outcomes.items() if outcome in ARRIVED),
        outcomes=dict(outcomes),
    )
