"""A pass as it was found: which gesture brought which chord of the target."""

from dataclasses import dataclass

from stackline.practice.finding.gestures import Gesture


@dataclass(frozen=True, kw_only=True)
class Arrival:
    """One chord of the target as it was played.

    chord: its index in the target. main: the gesture that brought it. later: further
    gestures while it held, in order (struck again, a late resolution, a stray note).
    """

    chord: int
    main: Gesture
    later: tuple[Gesture, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Pass:
    """One time through the target, or a false start. key: pitch class of the tonic.

    end_s: when the last arrival's keys are let go.
    """

    key: int
    arrivals: tuple[Arrival, ...]
    finished: bool

    @property
    def start_s(self) -> float:
        return self.arrivals[0].main.onset_s

    @property
    def end_s(self) -> float:
        return max(one.offset_s for a in self.arrivals for one in (a.main, *a.later))

    def arrival(self, chord: int) -> Arrival | None:
        """The arrival of a chord of the target; None where it was left out."""
        return next((one for one in self.arrivals if one.chord == chord), None)
