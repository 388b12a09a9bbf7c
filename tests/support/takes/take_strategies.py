"""Hypothesis strategies for whole takes: any records that the types allow, consistent."""

from fractions import Fraction
from typing import get_args

from hypothesis import strategies as st

from stackline.shared.harmony import (
    Alternative,
    ChordSpan,
    ChordSymbol,
    CommonTone,
    Degree,
    Doubling,
    Motion,
    Parallel,
    Resolution,
    Tone,
    TopMove,
    VoiceMove,
    Voicing,
)
from stackline.shared.notes import (
    FINEST_BEAT,
    Attack,
    Beat,
    BeatGrid,
    CutFrom,
    Note,
    Passage,
    Position,
    Span,
    SpanKind,
)
from stackline.shared.rhythm import BarRhythm, ChordPlace, HarmonicRhythm
from stackline.shared.take import Source, Take

unit = st.floats(0, 1)
times = st.floats(0, 1e5)
midi = st.integers(21, 108)
label = st.text(max_size=12)
degrees = st.builds(Degree, number=st.integers(2, 13), alteration=st.integers(-2, 2)) | st.just(
    Degree(number=1)
)
divisors = [n for n in range(1, FINEST_BEAT + 1) if FINEST_BEAT % n == 0]


@st.composite
def positions(draw: st.DrawFn) -> Position:
    """A place on the finest grid that a position allows."""
    below = draw(st.sampled_from(divisors))
    above = draw(st.integers(below, 12 * below))
    return Position(bar=draw(st.integers(0, 999)), beat=Fraction(above, below))


cuts = st.builds(
    lambda name, number, start_s, length_s: CutFrom(
        name=name, sha256=name, number=number, start_s=start_s, end_s=start_s + length_s
    ),
    name=label, number=st.integers(1, 99), start_s=times, length_s=times,
)  # fmt: skip


@st.composite
def notes(draw: st.DrawFn) -> Note:
    """Any note."""
    onset, length = draw(times), draw(st.floats(0, 60))
    return Note(
        onset_s=onset,
        offset_s=onset + length,
        midi=draw(midi),
        velocity=draw(st.integers(1, 127)),
        confidence=draw(unit),
        line=draw(st.just(0.0) | unit),
    )


symbols = st.builds(
    ChordSymbol, root=label, quality=label, bass=st.none() | label, text=label, harte=label
)
spans = st.builds(
    ChordSpan,
    start_s=times,
    end_s=times,
    symbol=symbols,
    source=st.sampled_from(["heard", "changes"]),
    confidence=unit,
    alternatives=st.lists(
        st.builds(Alternative, symbol=symbols, confidence=unit, reason=label), max_size=2
    ).map(tuple),
)
moves = st.lists(
    st.builds(VoiceMove, from_midi=st.none() | midi, to_midi=st.none() | midi), max_size=3
).map(tuple)


def motions(from_index: int, to_index: int) -> st.SearchStrategy[Motion]:
    """Any motion between two voicings."""
    return st.builds(
        Motion,
        from_index=st.just(from_index),
        to_index=st.just(to_index),
        moves=moves,
        top=st.builds(
            TopMove,
            semitones=st.integers(-40, 40),
            kind=st.sampled_from(["repeat", "step", "skip", "leap"]),
            from_degree=degrees,
            to_degree=degrees,
        ),
        common_tones=st.lists(
            st.builds(CommonTone, midi=midi, from_degree=degrees, to_degree=degrees), max_size=2
        ).map(tuple),
        guide_tones=moves,
        resolutions=st.lists(
            st.builds(
                Resolution,
                degree=degrees,
                midi=midi,
                outcome=st.sampled_from(["landed", "other octave", "late", "held", "not landed"]),
                to=st.none() | degrees,
                to_midi=st.none() | midi,
            ),
            max_size=2,
        ).map(tuple),
        parallel=st.none()
        | st.builds(
            Parallel,
            kind=st.sampled_from(["constant structure", "diatonic parallel", "side-slip"]),
            semitones=st.integers(-12, 12),
        ),
    )


@st.composite
def attacks(draw: st.DrawFn, pool: tuple[Note, ...]) -> Attack:
    """Any attack over a pool of notes."""
    return Attack(
        onset_s=draw(times),
        spread_s=draw(unit),
        struck=tuple(draw(st.lists(st.sampled_from(pool), min_size=1, max_size=4))),
        held=tuple(draw(st.lists(st.sampled_from(pool), max_size=2))),
        position=draw(st.none() | positions()),
    )


@st.composite
def voicings(draw: st.DrawFn, pool: tuple[Attack, ...]) -> Voicing:
    """Any voicing over a pool of attacks."""
    pitches = sorted(draw(st.sets(midi, min_size=1, max_size=6)))
    tones = tuple(
        Tone(
            midi=pitch,
            name=draw(label),
            degree=draw(degrees),
            hand=draw(st.sampled_from(["left", "right"])),
            held=draw(st.booleans()),
        )
        for pitch in pitches
    )
    return Voicing(
        attack=draw(st.sampled_from(pool)),
        chord=draw(spans),
        tones=tones,
        structures=tuple(draw(st.lists(label, max_size=2))),
        doublings=tuple(
            draw(
                st.lists(
                    st.builds(
                        Doubling,
                        degree=degrees,
                        count=st.integers(2, 4),
                        distance=st.integers(12, 48),
                    ),
                    max_size=2,
                )
            )
        ),
        hands_confidence=draw(unit),
        confidence=draw(unit),
        warnings=tuple(draw(st.lists(label, max_size=2))),
        under=tuple(
            draw(
                st.lists(
                    st.builds(Tone, midi=midi, name=label, degree=degrees, hand=st.just("right")),
                    max_size=2,
                )
            )
        ),
    )


@st.composite
def spans_not_playing(draw: st.DrawFn) -> Span:
    """Any stretch of another sound."""
    start = draw(times)
    kind = draw(st.sampled_from(get_args(SpanKind)))
    return Span(start_s=start, end_s=start + draw(st.floats(0, 60)), kind=kind)


@st.composite
def passages(draw: st.DrawFn) -> Passage:
    """Any passage of the recording."""
    start = draw(times)
    return Passage(start_s=start, end_s=start + draw(st.floats(0, 60)))


fractions = st.builds(Fraction, st.integers(0, 400), st.sampled_from(divisors))
bar_rhythms = st.builds(BarRhythm, bar=st.integers(0, 99), chords=st.integers(0, 4), figure=label)


@st.composite
def chord_places(draw: st.DrawFn, n_voicings: int) -> ChordPlace:
    """A chord in time over some voicings."""
    placings = [None, "on the beat", "anticipated", "delayed", "off the beat"]
    return ChordPlace(
        voicing=draw(st.integers(0, n_voicings - 1)),
        voicings=draw(st.integers(1, 9)),
        start_s=draw(times),
        end_s=draw(times),
        position=draw(st.none() | positions()),
        placing=draw(st.sampled_from(placings)),
        beats=draw(st.none() | fractions),
    )


@st.composite
def rhythms(draw: st.DrawFn, n_voicings: int) -> HarmonicRhythm:
    """Any harmonic rhythm over some voicings."""
    chords = draw(st.lists(chord_places(n_voicings), max_size=3)) if n_voicings else []
    return HarmonicRhythm(chords=tuple(chords), bars=tuple(draw(st.lists(bar_rhythms, max_size=3))))


@st.composite
def takes(draw: st.DrawFn) -> Take:
    """A take whose attacks point at its notes and whose voicings point at its attacks.

    Everything stands in order of time, and motions lie between neighbours, as the records promise.
    """
    note_pool = draw(st.lists(notes(), min_size=1, max_size=6, unique=True))
    note_pool.sort(key=lambda note: (note.onset_s, note.midi))
    attack_pool = draw(st.lists(attacks(tuple(note_pool)), min_size=1, max_size=4))
    attack_pool.sort(key=lambda attack: attack.onset_s)
    read = draw(st.lists(voicings(tuple(attack_pool)), max_size=3))
    read.sort(key=lambda voicing: voicing.attack.onset_s)
    return Take(
        source=draw(
            st.builds(
                Source,
                name=label,
                duration_s=times,
                sha256=label,
                broken_off_s=st.none() | times,
                unread=st.lists(passages(), max_size=2).map(tuple),
                cut_from=st.none() | cuts,
            )
        ),
        ear=draw(label),
        tuning_cents=draw(st.floats(-60, 60)),
        grid=draw(grids()),
        notes=tuple(note_pool),
        attacks=tuple(attack_pool),
        voicings=tuple(read),
        motions=tuple(draw(motions(i - 1, i)) for i in range(1, len(read))),
        version=draw(label),
        not_playing=tuple(draw(st.lists(spans_not_playing(), max_size=3))),
        swing_ratio=draw(st.none() | st.floats(0.7, 4.0)),
        rhythm=draw(rhythms(len(read))),
    )


@st.composite
def grids(draw: st.DrawFn) -> BeatGrid:
    """Any beats in order, and passages."""
    beat_times = sorted(draw(st.sets(times, max_size=5)))
    return BeatGrid(
        beats=tuple(Beat(time_s=one, number=draw(st.integers(1, 4))) for one in beat_times),
        tempo_bpm=draw(st.none() | st.floats(30, 300)),
        beats_per_bar=draw(st.integers(2, 7)),
        source=draw(st.sampled_from(["heard", "hint", "assumed"])),
        confidence=draw(unit),
        out_of_time=tuple(draw(st.lists(passages(), max_size=2))),
    )
