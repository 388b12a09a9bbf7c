"""A small take made by hand: an invented warm-up over two ii-V-I progressions.

Real notes at 96 beats a minute in 4/4, the first downbeat at 0.5 s. Among them: a re-read
common tone that is held, a b9 that goes up instead of landing, a voicing whose notes and
name are both unsure, a two-handed voicing with doublings, a tenth in the left hand, and a
low root touched alone that has no reading. Every degree and resolution is worked out by
hand from the interval table that players share (common practice).
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import cast

from stackline.shared.harmony import (
    Alternative,
    ChordSpan,
    ChordSymbol,
    CommonTone,
    Degree,
    Doubling,
    Motion,
    Outcome,
    Parallel,
    Resolution,
    Tone,
    TopKind,
    TopMove,
    VoiceMove,
    Voicing,
)
from stackline.shared.notes import Attack, Beat, BeatGrid, Note, Position
from stackline.shared.take import Source, Take

TEMPO_BPM = 96.0
BEAT_S = 60.0 / TEMPO_BPM
FIRST_BEAT_S = 0.5
N_BARS = 7

EBM9 = ChordSymbol(root="Eb", quality="m9", text="Ebm9", harte="Eb:min9")
AB13B9 = ChordSymbol(root="Ab", quality="13(b9)", text="Ab13(b9)", harte="Ab:7(b9,13)")
DBMAJ13 = ChordSymbol(root="Db", quality="maj13", text="Dbmaj13", harte="Db:maj9(13)")
DM9 = ChordSymbol(root="D", quality="m9", text="Dm9", harte="D:min9")
G7ALT = ChordSymbol(root="G", quality="7(b9,b13)", text="G7(b9,b13)", harte="G:7(b9,b13)")
DB9 = ChordSymbol(root="Db", quality="9", text="Db9", harte="Db:9")
CMAJ9 = ChordSymbol(root="C", quality="maj9", text="Cmaj9", harte="C:maj9")


def time_of(bar: int, beat: Fraction | int) -> float:
    """When a place in the music sounds, in seconds."""
    return FIRST_BEAT_S + (4 * (bar - 1) + float(beat) - 1) * BEAT_S


def note(midi: int, onset_s: float, offset_s: float, confidence: float = 0.97) -> Note:
    """A struck key at a middling level."""
    return Note(onset_s=onset_s, offset_s=offset_s, midi=midi, velocity=70, confidence=confidence)


def chord_attack(
    bar: int, beat: Fraction | int, pitches: Sequence[int], length_beats: float,
    *, held: tuple[Note, ...] = (), confidence: float = 0.97,
) -> Attack:  # fmt: skip
    """Keys struck together, 4 ms apart."""
    start = time_of(bar, beat)
    end = start + length_beats * BEAT_S
    struck = tuple(note(m, start + 0.004 * i, end, confidence) for i, m in enumerate(pitches))
    return Attack(
        onset_s=start,
        spread_s=0.004 * (len(pitches) - 1),
        struck=struck,
        held=held,
        position=Position(bar=bar, beat=Fraction(beat)),
    )


def tones(spelled: str, left: int, held: tuple[int, ...] = ()) -> tuple[Tone, ...]:
    """Tones from ``midi/name/degree`` words; the first `left` are the left hand's."""
    made = []
    for i, word in enumerate(spelled.split()):
        midi, name, degree = word.split("/")
        made.append(
            Tone(
                midi=int(midi),
                name=name,
                degree=Degree.parse(degree),
                hand="left" if i < left else "right",
                held=int(midi) in held,
            )
        )
    return tuple(made)


def span(attack: Attack, end_s: float, symbol: ChordSymbol, confidence: float,
         alternatives: tuple[Alternative, ...] = ()) -> ChordSpan:  # fmt: skip
    """A chord heard from this attack's notes."""
    return ChordSpan(
        start_s=attack.onset_s,
        end_s=end_s,
        symbol=symbol,
        source="heard",
        confidence=confidence,
        alternatives=alternatives,
    )


def _attacks() -> tuple[Attack, ...]:
    two = chord_attack(2, 1, (54, 60, 65, 69), 4.0)
    kept = next(one for one in two.struck if one.midi == 60)
    long = replace(kept, offset_s=time_of(4, 4))
    two = replace(two, struck=tuple(long if one is kept else one for one in two.struck))
    return (
        chord_attack(1, 1, (54, 58, 61, 65), 3.5),
        two,
        chord_attack(2, 3, (32,), 0.5),
        chord_attack(3, 1, (53, 63, 70), 6.0, held=(long,)),
        chord_attack(5, 1, (53, 60, 64, 69, 72, 77), 3.0),
        chord_attack(5, Fraction(9, 2), (53, 59, 63, 68), 3.5, confidence=0.62),
        chord_attack(7, 1, (48, 64, 67, 71, 74), 3.5),
    )


def _voicings(attacks: tuple[Attack, ...]) -> tuple[Voicing, ...]:
    runner_up = Alternative(
        symbol=DB9, confidence=0.34, reason="the same notes are Db9 when the root is a tritone away"
    )
    minor = Alternative(
        symbol=ChordSymbol(root="Gb", quality="maj7", text="Gbmaj7", harte="Gb:maj7"),
        confidence=0.05,
        reason="the same notes are Gbmaj7; the next chord is a fifth below Eb",
    )
    one, two, _, three, four, five, six = attacks
    return (
        Voicing(
            attack=one, chord=span(one, time_of(2, 1), EBM9, 0.94, (minor,)),
            tones=tones("54/Gb3/b3 58/Bb3/5 61/Db4/b7 65/F4/9", left=4),
            structures=("rootless, 3rd at the bottom",), hands_confidence=0.8, confidence=0.97,
        ),
        Voicing(
            attack=two, chord=span(two, time_of(3, 1), AB13B9, 0.96),
            tones=tones("54/Gb3/b7 60/C4/3 65/F4/13 69/Bbb4/b9", left=2),
            structures=("rootless, 7th at the bottom", "drop 2"),
            hands_confidence=0.6, confidence=0.95,
        ),
        Voicing(
            attack=three, chord=span(three, time_of(5, 1), DBMAJ13, 0.93),
            tones=tones("53/F3/3 60/C4/7 63/Eb4/9 70/Bb4/13", left=2, held=(60,)),
            structures=("rootless, open",), hands_confidence=0.6, confidence=0.93,
        ),
        Voicing(
            attack=four, chord=span(four, time_of(5, Fraction(9, 2)), DM9, 0.95),
            tones=tones("53/F3/b3 60/C4/b7 64/E4/9 69/A4/5 72/C5/b7 77/F5/b3", left=2),
            structures=("rootless, open",),
            doublings=(
                Doubling(degree=Degree.parse("b3"), count=2, distance=24),
                Doubling(degree=Degree.parse("b7"), count=2, distance=12),
            ),
            hands_confidence=0.9, confidence=0.9,
        ),
        Voicing(
            attack=five, chord=span(five, time_of(7, 1), G7ALT, 0.58, (runner_up,)),
            tones=tones("53/F3/b7 59/B3/3 63/Eb4/b13 68/Ab4/b9", left=2),
            structures=("rootless, open",), hands_confidence=0.5, confidence=0.55,
        ),
        Voicing(
            attack=six, chord=span(six, time_of(8, 1), CMAJ9, 0.97),
            tones=tones("48/C3/R 64/E4/3 67/G4/5 71/B4/7 74/D5/9", left=2),
            structures=("spread",), hands_confidence=0.7, confidence=0.96,
            warnings=("the left hand spans a tenth (16 semitones): a stretch for most hands",),
        ),
    )  # fmt: skip


def top(semitones: int, kind: str, from_degree: str, to_degree: str) -> TopMove:
    """A step of the top line."""
    return TopMove(
        semitones=semitones, kind=cast(TopKind, kind),
        from_degree=Degree.parse(from_degree), to_degree=Degree.parse(to_degree),
    )  # fmt: skip


def resolved(degree: str, midi: int, outcome: str, to: str, to_midi: int) -> Resolution:
    """What became of one degree."""
    return Resolution(
        degree=Degree.parse(degree), midi=midi, outcome=cast(Outcome, outcome),
        to=Degree.parse(to), to_midi=to_midi,
    )  # fmt: skip


def common(midi: int, from_degree: str, to_degree: str) -> CommonTone:
    """A pitch that stays."""
    return CommonTone(
        midi=midi, from_degree=Degree.parse(from_degree), to_degree=Degree.parse(to_degree)
    )


def moves(*pairs: tuple[int | None, int | None]) -> tuple[VoiceMove, ...]:
    """Voices as pairs of MIDI pitches."""
    return tuple(VoiceMove(from_midi=a, to_midi=b) for a, b in pairs)


def _motions() -> tuple[Motion, ...]:
    return (
        Motion(
            from_index=0, to_index=1, top=top(4, "skip", "9", "b9"),
            moves=moves((54, 54), (58, 60), (61, 65), (65, 69)),
            common_tones=(common(54, "b3", "b7"), common(65, "9", "13")),
            guide_tones=moves((54, 54), (61, 60)),
        ),
        Motion(
            from_index=1, to_index=2, top=top(1, "step", "b9", "13"),
            moves=moves((54, 53), (60, 60), (65, 63), (69, 70)),
            common_tones=(common(60, "3", "7"),), guide_tones=moves((54, 53), (60, 60)),
            resolutions=(
                resolved("b7", 54, "landed", "3", 53), resolved("3", 60, "landed", "7", 60),
                resolved("13", 65, "landed", "9", 63), resolved("b9", 69, "not landed", "13", 70),
            ),
        ),
        Motion(
            from_index=2, to_index=3, top=top(7, "leap", "13", "b3"),
            moves=moves((53, 53), (60, 60), (63, 64), (None, 69), (70, 72), (None, 77)),
            common_tones=(common(53, "3", "b3"), common(60, "7", "b7")),
        ),
        Motion(
            from_index=3, to_index=4, top=top(-9, "leap", "b3", "b9"),
            moves=moves((53, 53), (60, 59), (64, 63), (69, 68), (72, None), (77, None)),
            common_tones=(common(53, "b3", "b7"),), guide_tones=moves((53, 53), (60, 59)),
        ),
        Motion(
            from_index=4, to_index=5, top=top(6, "leap", "b9", "9"),
            moves=moves((53, 48), (59, None), (63, 64), (68, 67), (None, 71), (None, 74)),
            resolutions=(
                resolved("b7", 53, "other octave", "3", 64),
                resolved("3", 59, "other octave", "7", 71),
                resolved("b13", 63, "landed", "3", 64), resolved("b9", 68, "landed", "5", 67),
            ),
        ),
    )  # fmt: skip


def beat_grid(n_bars: int = N_BARS) -> BeatGrid:
    """A steady pulse in 4/4."""
    beats = tuple(
        Beat(time_s=FIRST_BEAT_S + i * BEAT_S, number=i % 4 + 1) for i in range(4 * n_bars)
    )
    return BeatGrid(
        beats=beats, tempo_bpm=TEMPO_BPM, beats_per_bar=4, source="heard", confidence=0.9
    )


def _take(name: str, grid: BeatGrid, attacks: tuple[Attack, ...], voicings: tuple[Voicing, ...],
          motions: tuple[Motion, ...], duration_s: float) -> Take:  # fmt: skip
    notes = sorted((n for a in attacks for n in a.struck), key=lambda n: (n.onset_s, n.midi))
    return Take(
        source=Source(name=name, duration_s=duration_s, sha256="0" * 64),
        ear="a hand-made ear 1",
        tuning_cents=-8.1,
        grid=grid,
        notes=tuple(notes),
        attacks=attacks,
        voicings=voicings,
        motions=motions,
        version="0.1.0",
    )


def sample_take(name: str = "warm-up.wav") -> Take:
    """Six voicings over seven bars, with everything that the module's docstring lists."""
    attacks = _attacks()
    return _take(name, beat_grid(), attacks, _voicings(attacks), _motions(), 18.75)


def gridless_take() -> Take:
    """The same without a beat grid, as played out of time."""
    take = sample_take("rubato.wav")
    attacks = tuple(replace(one, position=None) for one in take.attacks)
    plain = dict(zip(take.attacks, attacks, strict=True))
    voicings = tuple(replace(one, attack=plain[one.attack]) for one in take.voicings)
    return replace(take, grid=BeatGrid(), attacks=attacks, voicings=voicings)


def empty_take() -> Take:
    """A recording in which nothing was heard."""
    return _take("silence.wav", BeatGrid(), (), (), (), 3.0)


def parallel_take() -> Take:
    """The sample with its first motion labelled as a side-slip."""
    take = sample_take()
    first = replace(take.motions[0], parallel=Parallel(kind="side-slip", semitones=1))
    return replace(take, motions=(first, *take.motions[1:]))


def _linked(base: Take, i: int) -> Motion:
    """The sample's motion into voicing `i` of its repetition; voices by rank at the seam."""
    before = (i - 1) % len(base.voicings)
    if before < len(base.motions):
        return replace(base.motions[before], from_index=i - 1, to_index=i)
    last, first = base.voicings[-1], base.voicings[0]
    pairs = tuple(zip(last.pitches, first.pitches, strict=False))
    return Motion(from_index=i - 1, to_index=i, moves=moves(*pairs), top=top(-9, "leap", "9", "9"))


def long_take(n_voicings: int = 400) -> Take:
    """The sample's voicings over and over, one a beat and a half, for size and speed."""
    base = sample_take()
    attacks, voicings, motions = [], [], []
    for i in range(n_voicings):
        model = base.voicings[i % len(base.voicings)]
        beat = Fraction(3, 2) * i
        place = Position(bar=int(beat // 4) + 1, beat=beat % 4 + 1)
        shift = time_of(1, 1) + float(beat) * BEAT_S - model.attack.onset_s
        struck = tuple(
            note(m, model.attack.onset_s + shift, model.attack.onset_s + shift + BEAT_S)
            for m in model.pitches
        )
        attack = Attack(onset_s=struck[0].onset_s, spread_s=0.0, struck=struck, position=place)
        sounding = tuple(replace(tone, held=False) for tone in model.tones)
        chord = replace(model.chord, start_s=attack.onset_s, end_s=attack.onset_s + 1.5 * BEAT_S)
        attacks.append(attack)
        voicings.append(replace(model, attack=attack, chord=chord, tones=sounding))
        if i:
            motions.append(_linked(base, i))
    n_bars = int(Fraction(3, 2) * n_voicings // 4) + 1
    return _take("long.wav", beat_grid(n_bars), tuple(attacks), tuple(voicings), tuple(motions),
                 time_of(n_bars + 1, 1))  # fmt: skip
