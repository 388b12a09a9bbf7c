"""How sure a finding is, given how sure the ear is of each note.

A note that is told as wrong, added or moved is as sure as the ear is of it, a missing note as
sure as the least sure note around it. But a note missing or added whose pitch class sounds
elsewhere in the voicing is HARD to tell: an octave above a struck note lies wholly within
that note's partials, and false octaves are what ears get wrong most. A voicing turned over
or moved is as sure as its least sure note. Notes that are known (confidence 1 throughout,
as from MIDI or a player's correction) leave no doubt.

Above `review_records.SURE` a finding is told plainly; below, with a question mark;
at HARD and below it is a doubt and no fault.
"""

from collections.abc import Sequence

from stackline.practice.review.comparison import NoteDifference
from stackline.practice.review.review_records import VoicingReview

HARD = 0.5


def sure_of(review: VoicingReview, concerned: Sequence[NoteDifference] = ()) -> float:
    """0..1 for a finding about some notes of a voicing, or about the voicing as a whole."""
    least = min(review.note_sure)
    if least == 1.0:
        return 1.0
    by_pitch = dict(zip(review.compared.pitches, review.note_sure, strict=True))
    found = [_of_note(one, review, by_pitch, least) for one in concerned]
    return min(found, default=least)


def _of_note(
    one: NoteDifference, review: VoicingReview, by_pitch: dict[int, float], least: float
) -> float:
    sure = least if one.played_midi is None else by_pitch[one.played_midi]
    pitch = one.meant_midi if one.kind == "missing" else one.played_midi
    doubled = pitch is not None and any(
        other != pitch and (other - pitch) % 12 == 0 for other in review.compared.pitches
    )
    return min(sure, HARD) if doubled and one.kind in ("missing", "added") else sure
