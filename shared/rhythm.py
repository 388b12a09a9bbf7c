"""Records of harmonic rhythm: when chords change, and how bars are struck.

Words are those that players share (common practice): a chord comes on the beat, anticipated
(just before the beat that it belongs to) or delayed (just after).
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from stackline.shared.notes import Position

Placing = Literal["on the beat", "anticipated", "delayed", "off the beat"]


@dataclass(frozen=True, kw_only=True)
class ChordPlace:
    """A chord from its first voicing until it changes.

    voicing: index of its first voicing in the take; voicings: how many it has, re-strikes
    among them. start_s: that voicing's onset. end_s: the next chord's start_s, or the end of
    the recording. position: the place that the chord belongs to (an "and" of four that
    anticipates belongs to the next bar). placing: how it came to that place. beats: from its
    place to that of the next chord. None: position, placing and beats without a beat grid,
    placing where bars are only assumed, beats for the last chord.
    """

    voicing: int
    voicings: int
    start_s: float
    end_s: float
    position: Position | None = None
    placing: Placing | None = None
    beats: Fraction | None = None


@dataclass(frozen=True, kw_only=True)
class BarRhythm:
    """One bar: how many chords belong to it, and in words the figure that is struck in it.

    chords: a chord that lasts on from the bar before counts, so there is one at least once
    playing has begun. figure: ``dotted quarter and eighth tied over``; empty where nothing
    is struck.
    """

    bar: int
    chords: int
    figure: str


@dataclass(frozen=True, kw_only=True)
class HarmonicRhythm:
    """Of a whole take. bars: from the first to the last that has a chord; none without a grid."""

    chords: tuple[ChordPlace, ...] = ()
    bars: tuple[BarRhythm, ...] = ()


NO_RHYTHM = HarmonicRhythm()  # of a take without chords, or not known
