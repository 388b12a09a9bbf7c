"""Faults in words, each with how sure it is."""

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

from stackline.practice.review.certainty import HARD, sure_of
from stackline.practice.review.comparison import NoteDifference
from stackline.practice.review.review_records import Fault, FaultKind, Landing, VoicingReview
from stackline.practice.targets.targets import Target


class Teller:
    """Puts faults of one voicing into words."""

    def __init__(self, target: Target, review: VoicingReview) -> None:
        self._chords = target.chords
        self._review = review

    def _fault(
        self, kind: FaultKind, words: str, *, degree: str | None = None, came: str | None = None,
        chord: int | None = None, notes: Sequence[NoteDifference] = (),
    ) -> Fault:  # fmt: skip
        return Fault(
            kind=kind,
            chord=self._review.chord if chord is None else chord,
            at_s=self._review.onset_s,
            degree=degree,
            came=came,
            words=words,
            sure=sure_of(self._review, notes),
        )

    @property
    def _heard(self) -> bool:
        """Whether the notes come from an ear, and may be wrong."""
        return min(self._review.note_sure) < 1.0

    @property
    def _name(self) -> str:
        return self._chords[self._review.chord].name()

    def late(self, landing: Landing, covered: Sequence[NoteDifference]) -> Fault:
        """A resolution that came after its chord.

        Where nothing stood in its place at first, the ear may as well have missed the note.
        """
        one = landing.resolution
        chord = self._chords[landing.chord].name()
        words = f"the {one.degree} of {chord} landed late on the {one.to} of {self._name}"
        fault = self._fault(
            "late resolution", words, degree=str(one.degree), chord=landing.chord, notes=covered
        )
        only_missing = all(difference.kind == "missing" for difference in covered)
        return replace(fault, sure=min(fault.sure, HARD)) if self._heard and only_missing else fault

    def unresolved(self, landing: Landing, covered: Sequence[NoteDifference]) -> Fault:
        """A tension that something else came for."""
        one = landing.resolution
        came = next((str(d.played) for d in covered if d.played is not None), None)
        if came is None and one.to is not None:
            came = str(one.to)
        due = f" on the {landing.meant}" if landing.meant else ""
        what = (
            "stayed"
            if one.outcome == "held"
            else f"the {came} came instead"
            if came
            else "nothing came"
        )
        words = (
            f"the {one.degree} of {self._chords[landing.chord].name()} did not land{due}: {what}"
        )
        return self._fault(
            "did not resolve", words, degree=str(one.degree), came=came, chord=landing.chord,
            notes=covered,
        )  # fmt: skip

    def whole(self, status: str) -> Fault:
        """A voicing turned over, or octaves away."""
        octaves = self._review.compared.octaves
        if status == "other order":
            stack = " ".join(str(degree) for degree in self._review.compared.degrees)
            return self._fault("other order", f"{self._name} was stacked {stack}")
        where = "up" if octaves > 0 else "down"
        far = f"an octave {where}" if abs(octaves) == 1 else f"{abs(octaves)} octaves {where}"
        return self._fault("other octave", f"{self._name} lay {far if octaves else 'wider'}")

    def another(self) -> Fault:
        """A voicing that has little of what was meant."""
        stack = " ".join(str(degree) for degree in self._review.compared.degrees)
        return self._fault("another voicing", f"{self._name} was another voicing: {stack}")

    def note(self, one: NoteDifference) -> Fault:
        """One note that differs."""
        due, came = _text(one.meant), _text(one.played)
        if one.kind == "missing":
            return self._missing(one, str(due))
        kind, words = {
            "wrong": ("wrong note", f"the {came} instead of the {due} in {self._name}"),
            "moved": ("moved note", f"the {due} of {self._name} in another octave"),
            "added": ("added note", f"{self._name} with {article(str(came))} {came} added"),
        }[one.kind]
        came = None if one.kind == "moved" else came
        return self._fault(cast(FaultKind, kind), words, degree=due, came=came, notes=(one,))

    def _missing(self, one: NoteDifference, due: str) -> Fault:
        """A guide tone is missing where it does not sound at all; else it lacks its double."""
        sounding = {str(degree) for degree in self._review.compared.degrees}
        chord = self._chords[self._review.chord]
        if due in sounding:
            words = f"{self._name} without its second {due}"
            return self._fault("missing note", words, degree=due, notes=(one,))
        kind: FaultKind = "missing guide tone" if due in chord.guide_tones else "missing note"
        return self._fault(kind, f"{self._name} without its {due}", degree=due, notes=(one,))

    def top(self) -> Fault:
        """Another note on top than was meant."""
        top = self._review.top
        words = f"the {top.played} on top of {self._name} instead of the {top.meant}"
        return self._fault("top line", words, degree=_text(top.meant), came=str(top.played))


def article(degree: str) -> str:
    """``an 11``, ``a b9``: by how a degree is spoken."""
    return "an" if degree in ("11", "R") else "a"


def _text(degree: object) -> str | None:
    return None if degree is None else str(degree)
