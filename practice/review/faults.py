"""From differences to faults: one event, one fault, named as a teacher would name it.

A note of a tonic chord that is wrong where a tension was due to land is that tension not landing,
and not a wrong note as well; a note that comes after its chord is a late resolution, and not a
missing note. A voicing that is turned over or moved by octaves is one fault, whatever that does to
its notes. Facts alone: `stackline.practice.written.fault_words` makes sentences of them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from stackline.practice.review.certainty import HARD, sure_of
from stackline.practice.review.comparison import Compared, NoteDifference
from stackline.practice.review.review_records import (
    Fault,
    FaultKind,
    Landing,
    VoicingReview,
    Wait,
)
from stackline.practice.targets.targets import Target
from stackline.theory.chords.degrees import pitch_class

GUIDES = frozenset({"b3", "3", "4", "b7", "7", "bb7"})


def voicing_faults(
    target: Target, review: VoicingReview, before: Sequence[Landing]
) -> Iterator[Fault]:
    """The faults of one voicing, and of the resolutions into it (`before`)."""
    compared = review.compared
    resolved: set[NoteDifference] = set()
    for landing in sorted(before, key=lambda one: _closeness(one, compared)):
        covered = [one for one in compared.differences if _is_where(one, landing)]
        if resolved & set(covered):
            continue  # there already, as another degree on its way to the same note
        outcome = landing.resolution.outcome
        if outcome == "late" and covered:
            resolved.update(covered)
            yield _late(review, landing, covered)
        elif outcome in ("held", "not landed") and _counts(landing, covered, compared, before):
            resolved.update(covered)
            yield _unresolved(review, landing, covered)
    left = [one for one in compared.differences if one not in resolved]
    yield from _of_notes(target, review, left)
    if not compared.meant and not review.top.as_meant:
        top = review.top
        yield _fault(review, "top line", degree=_text(top.meant), came=str(top.played))


def _fault(
    review: VoicingReview, kind: FaultKind, notes: Sequence[NoteDifference] = (), *,
    degree: str | None = None, came: str | None = None,
) -> Fault:  # fmt: skip
    """A fault of one voicing. notes: those that it is about, none for the voicing as a whole."""
    return Fault(
        kind=kind,
        chord=review.chord,
        at_s=review.onset_s,
        degree=degree,
        came=came,
        sure=sure_of(review, notes),
    )


def _closeness(one: Landing, compared: Compared) -> tuple[bool, bool]:
    """Of several degrees due on one note: the one that stayed there first, then tensions."""
    stayed = one.resolution.midi in {each.played_midi for each in compared.differences}
    return not stayed, str(one.resolution.degree) in GUIDES


def _is_where(difference: NoteDifference, landing: Landing) -> bool:
    """Whether a difference stands where a degree was due to land, or is that degree itself."""
    if landing.meant is None:
        stayed = landing.resolution.midi == difference.played_midi
        return stayed and difference.kind in ("wrong", "added")
    if difference.kind not in ("wrong", "missing") or difference.meant is None:
        return False
    return pitch_class(difference.meant) == pitch_class(landing.meant)


def _counts(
    landing: Landing, covered: Sequence[NoteDifference], compared: Compared,
    every: Sequence[Landing],
) -> bool:  # fmt: skip
    """Whether a degree that did not arrive is a fault of its own.

    Guide tones, and what shares its goal with one, count as notes of the next chord. With
    a stack a tension counts where something wrong stands in its place; without one, where
    it stays and contradicts the next symbol.
    """
    if str(landing.resolution.degree) in GUIDES:
        return False
    shared = compared.meant and any(
        str(one.resolution.degree) in GUIDES and one.meant == landing.meant for one in every
    )
    return not shared and any(one.kind != "missing" for one in covered)


def _late(review: VoicingReview, landing: Landing, covered: Sequence[NoteDifference]) -> Fault:
    """A resolution that came after its chord.

    Where nothing stood in its place at first, the ear may as well have missed the note.
    """
    one = landing.resolution
    fault = _fault(review, "late resolution", covered, degree=str(one.degree))
    fault = replace(fault, chord=landing.chord, goal=_text(one.to))
    heard = min(review.note_sure) < 1.0
    only_missing = all(difference.kind == "missing" for difference in covered)
    return replace(fault, sure=min(fault.sure, HARD)) if heard and only_missing else fault


def _unresolved(
    review: VoicingReview, landing: Landing, covered: Sequence[NoteDifference]
) -> Fault:
    """A tension that something else came for."""
    one = landing.resolution
    came = next((str(each.played) for each in covered if each.played is not None), None)
    fault = _fault(
        review, "did not resolve", covered, degree=str(one.degree), came=came or _text(one.to)
    )
    return replace(
        fault, chord=landing.chord, goal=_text(landing.meant), stayed=one.outcome == "held"
    )


def _of_notes(
    target: Target, review: VoicingReview, left: Sequence[NoteDifference]
) -> Iterator[Fault]:
    compared = review.compared
    stack = tuple(str(degree) for degree in compared.degrees)
    at_fault = [one for one in left if one.kind in ("wrong", "missing")]
    if compared.status == "other octave":
        yield replace(_fault(review, "other octave"), octaves=compared.octaves)
    elif compared.status == "other order":
        yield replace(_fault(review, "other order"), stack=stack)
    elif len(at_fault) > max(2, len(compared.meant) // 2) and compared.meant:
        yield replace(_fault(review, "another voicing"), stack=stack)
    else:
        yield from (_of_note(target, review, one) for one in left)


def _of_note(target: Target, review: VoicingReview, one: NoteDifference) -> Fault:
    """One note that differs; a guide tone is missing where it does not sound at all."""
    due, came = _text(one.meant), _text(one.played)
    if one.kind == "missing":
        doubled = one.meant in review.compared.degrees
        guide = due in target.chords[review.chord].guide_tones and not doubled
        kind: FaultKind = "missing guide tone" if guide else "missing note"
        return replace(_fault(review, kind, (one,), degree=due), doubled=doubled)
    if one.kind == "moved":
        return _fault(review, "moved note", (one,), degree=due)
    kind = "wrong note" if one.kind == "wrong" else "added note"
    return _fault(review, kind, (one,), degree=due, came=came)


def left_out(chord: int, at_s: float, sure: float) -> Fault:
    """A chord of the target that never came."""
    return Fault(kind="left out", chord=chord, at_s=at_s, sure=sure)


def hesitation(wait: Wait, at_s: float) -> Fault:
    """A chord that came later than the player's own pulse asks."""
    beats = wait.beats - wait.meant_beats
    return Fault(kind="hesitation", chord=wait.chord, at_s=at_s, beats=beats, sure=1.0)


def _text(degree: object) -> str | None:
    return None if degree is None else str(degree)
