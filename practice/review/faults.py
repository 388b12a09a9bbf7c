"""From differences to faults: one event, one fault, named as a teacher would name it.

A note of a tonic chord that is wrong where a tension was due to land is told as that
tension not landing, not as a wrong note as well; a note that comes after its chord is a late
resolution, and not a missing note. A voicing that is turned over or moved by octaves is
one fault, whatever that does to its notes. Guide tones are told by name.
"""

from collections.abc import Iterator, Sequence

from stackline.practice.review.comparison import Compared, NoteDifference
from stackline.practice.review.fault_words import Teller
from stackline.practice.review.review_records import Fault, Landing, VoicingReview, Wait
from stackline.practice.targets.targets import Target
from stackline.theory.chords.degrees import pitch_class

GUIDES = frozenset({"b3", "3", "4", "b7", "7", "bb7"})


def voicing_faults(
    target: Target, review: VoicingReview, before: Sequence[Landing]
) -> Iterator[Fault]:
    """The faults of one voicing, and of the resolutions into it (`before`)."""
    told = Teller(target, review)
    compared = review.compared
    resolved: set[NoteDifference] = set()
    for landing in sorted(before, key=lambda one: _closeness(one, compared)):
        covered = [one for one in compared.differences if _is_where(one, landing)]
        if resolved & set(covered):
            continue  # told already, as another degree on its way to the same note
        outcome = landing.resolution.outcome
        if outcome == "late" and covered:
            resolved.update(covered)
            yield told.late(landing, covered)
        elif outcome in ("held", "not landed") and _counts(landing, covered, compared, before):
            resolved.update(covered)
            yield told.unresolved(landing, covered)
    left = [one for one in compared.differences if one not in resolved]
    yield from _differences(told, compared, left)
    if not compared.meant and not review.top.as_meant:
        yield told.top()


def _closeness(landing: Landing, compared: Compared) -> tuple[bool, bool]:
    """Of several degrees due on one note: the one that stayed there first, then tensions."""
    stayed = landing.resolution.midi in {one.played_midi for one in compared.differences}
    return not stayed, str(landing.resolution.degree) in GUIDES


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

    Guide tones, and what shares its goal with one, are told as notes of the next chord. With
    a stack a tension counts where something wrong stands in its place; without one, where
    it stays and contradicts the next symbol.
    """
    if str(landing.resolution.degree) in GUIDES:
        return False
    shared = compared.meant and any(
        str(one.resolution.degree) in GUIDES and one.meant == landing.meant for one in every
    )
    return not shared and any(one.kind != "missing" for one in covered)


def _differences(
    told: Teller, compared: Compared, left: Sequence[NoteDifference]
) -> Iterator[Fault]:
    if compared.status in ("other octave", "other order"):
        yield told.whole(compared.status)
        return
    at_fault = [one for one in left if one.kind in ("wrong", "missing")]
    if len(at_fault) > max(2, len(compared.meant) // 2) and compared.meant:
        yield told.another()
        return
    for one in left:
        yield told.note(one)


def left_out(target: Target, chord: int, at_s: float, sure: float) -> Fault:
    """A chord of the target that never came."""
    words = f"{target.chords[chord].name()} was left out"
    return Fault(kind="left out", chord=chord, at_s=at_s, words=words, sure=sure)


def hesitation(target: Target, wait: Wait, at_s: float) -> Fault:
    """The tonic came later than the player's own pulse asks."""
    over = wait.beats - wait.meant_beats
    words = (
        f"{over:.1f} beats of waiting between {target.chords[wait.chord].name()} "
        f"and {target.chords[wait.chord + 1].name()}"
    )
    return Fault(kind="hesitation", chord=wait.chord, at_s=at_s, words=words, sure=1.0)
