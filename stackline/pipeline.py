"""From a recording to a take: hear, then read. The only place where the two rooms meet."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from stackline.ears import DEFAULT_EAR, make_ear
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.grid import with_positions
from stackline.listen.attacks.line_notes import with_line
from stackline.listen.attacks.swing_ratio import swing_ratio
from stackline.listen.ear import Ear, Progress, silent
from stackline.listen.hearing import Hearing, hear_audio
from stackline.listen.hearing import hear as hear_file
from stackline.listen.recording.midi_keys import Keys, is_midi, read_midi
from stackline.listen.sections.keys_sections import keys_sections
from stackline.listen.sections.section_hearing import hear_sections
from stackline.listen.time.beats import find_beats
from stackline.listen.time.time_hints import NO_HINTS, TimeHints
from stackline.shared.notes import BeatGrid, Note, Span, in_order
from stackline.shared.sound import Tuning
from stackline.shared.take import Section, Session, Source, Take
from stackline.shared.units import CONCERT_A_HZ
from stackline.theory.reading import read
from stackline.version import __version__

if TYPE_CHECKING:
    from stackline.theory.sheet.changes import Changes

Line = Literal["auto", "none"]
GIVEN_NOTES = "given notes"  # stands for the ear of a take that was not heard
KEYS = "MIDI keys"  # and of one whose notes a MIDI file holds
_IN_TUNE = Tuning(offset_cents=0.0, confidence=0.0)


def transcribe(
    path: str | Path,
    *,
    ear: "str | Ear" = DEFAULT_EAR,
    changes: "Changes | str | None" = None,
    hints: TimeHints = NO_HINTS,
    expected_a_hz: float = CONCERT_A_HZ,
    line: Line = "auto",
    progress: Progress = silent,
    remark: Callable[[str], None] | None = None,
) -> Take:
    """Hear a recording and read its voicings.

    path: any sound or video file, or a MIDI file, whose notes are taken as played. ear: a name of
    `EARS`, or an ear.
    changes: the chords of the tune, if known: text such as "Dm9 | G13(b9) | C6/9", or what
    `parse_changes` makes of it; a meter written in them is a hint. hints: what is known of its time
    (tempo in beats a minute, beats in a bar, first beat in seconds, clicks counted before it);
    without them all is heard or left open. expected_a_hz: what A is near, where the instrument
    stands a quarter tone or more off.
    line: "auto" keeps a line that is played over the comping out of the voicings; with "none" every
    note is of the comping.
    progress: called with a stage in words and a fraction of it, 0 to 1. remark: called with a
    sentence for each hint that is not followed, or goes against what is heard.

    Returns a take; one without attacks if nothing was heard. Raises Complaint, with one sentence,
    for a file that cannot be read or a hint out of range.
    """
    form = _form(changes)
    if is_midi(Path(path)):
        heard = _from_keys(read_midi(Path(path)), hints, form)
    else:
        heard = hear_file(
            Path(path), ear=_ear(ear), hints=_metered(hints, form), expected_a_hz=expected_a_hz,
            progress=progress,
        )  # fmt: skip
    if remark is not None:
        for sentence in heard.remarks:
            remark(sentence)
    return _take(heard, form, line)


def transcribe_session(
    path: str | Path,
    *,
    ear: "str | Ear" = DEFAULT_EAR,
    hints: TimeHints = NO_HINTS,
    expected_a_hz: float = CONCERT_A_HZ,
    line: Line = "auto",
    progress: Progress = silent,
    remark: Callable[[str], None] | None = None,
) -> Session:
    """Hear a recording of an evening, and read each section that it falls into by itself.

    A section begins after a long rest, after talk, and where tempo, meter or material change. Its
    take goes by its own clock, has beats and bars of its own, and is what `transcribe` would make
    of the same sound cut out; `take.source.cut_from` has its place in the recording. hints hold in
    each section. The rest as in `transcribe`.

    Returns a session; one without sections if nothing was heard. Raises Complaint as `transcribe`.
    """
    if is_midi(Path(path)):
        keys = read_midi(Path(path))
        heard = [_from_keys(one, hints, None) for one in keys_sections(keys)]
        return _session(keys.source, (), heard, line, remark)
    found = hear_sections(
        Path(path), ear=_ear(ear), hints=hints, expected_a_hz=expected_a_hz, progress=progress
    )
    return _session(found.whole.source, found.whole.not_playing, found.sections, line, remark)


def hear(
    samples: Any,
    sample_rate_hz: int,
    *,
    name: str = "samples",
    ear: "str | Ear" = DEFAULT_EAR,
    changes: "Changes | str | None" = None,
    hints: TimeHints = NO_HINTS,
    expected_a_hz: float = CONCERT_A_HZ,
    line: Line = "auto",
    progress: Progress = silent,
) -> Take:
    """Hear samples that are already in memory and read their voicings.

    samples: array of shape (n_samples,) or (n_samples, n_channels), floating point with full
    scale 1.0 or signed integers. sample_rate_hz: of the samples. name: what the take is called.
    The rest as in `transcribe`. Raises Complaint for an array that is not a recording.
    """
    from stackline.listen.recording.samples import from_samples

    listener, form = _ear(ear), _form(changes)
    audio = from_samples(samples, sample_rate_hz, to_hz=listener.sample_rate_hz, name=name)
    heard = hear_audio(
        audio, ear=listener, hints=_metered(hints, form), expected_a_hz=expected_a_hz,
        progress=progress,
    )  # fmt: skip
    return _take(heard, form, line)


def read_notes(
    notes: Iterable[Note],
    *,
    beats: BeatGrid | None = None,
    changes: "Changes | str | None" = None,
    hints: TimeHints = NO_HINTS,
    line: Line = "auto",
    name: str = "notes",
) -> Take:
    """Read notes that somebody already has; nothing is heard.

    notes: in any order; times in seconds, pitches in MIDI numbers 21 to 108. beats: where the
    beats fall; found from the notes if left out (`hints` as in `transcribe`). changes, line: as in
    `transcribe`; notes that come with a line (`Note.line`) keep it. Raises Complaint for a hint out
    of range.
    """
    played, form = in_order(notes), _form(changes)
    end_s = max((note.offset_s for note in played), default=0.0)
    source = Source(name=name, duration_s=end_s, sha256=_digest(played))
    heard = _not_heard(source, GIVEN_NOTES, played, beats, _metered(hints, form))
    return _take(heard, form, line)


def _session(
    source: Source,
    not_playing: tuple[Span, ...],
    sections: Iterable[Hearing],
    line: Line,
    remark: Callable[[str], None] | None,
) -> Session:
    """What was heard section by section, read."""
    takes = []
    for heard in sections:
        if remark is not None:
            for sentence in heard.remarks:
                remark(f"{heard.source.name}: {sentence}")
        takes.append(_take(heard, None, line))
    return Session(
        source=source,
        not_playing=not_playing,
        sections=tuple(Section(take=take) for take in takes),
    )


def _from_keys(keys: Keys, hints: TimeHints, form: "Changes | None") -> Hearing:
    """What a MIDI file holds, with its own beats unless the player says something of them."""
    own = keys.grid if hints == NO_HINTS else None
    return _not_heard(keys.source, KEYS, keys.notes, own, _metered(hints, form))


def _not_heard(
    source: Source, ear: str, notes: tuple[Note, ...], beats: BeatGrid | None, hints: TimeHints
) -> Hearing:
    """Notes that came as notes, as if heard. beats: found from the notes if None."""
    attacks = find_attacks(notes)
    grid = find_beats(attacks, hints=hints) if beats is None else beats
    return Hearing(
        source=source,
        ear=ear,
        tuning=_IN_TUNE,
        grid=grid,
        notes=notes,
        attacks=with_positions(attacks, grid),
        swing_ratio=swing_ratio(attacks, grid),
    )


def _ear(ear: "str | Ear") -> Ear:
    return make_ear(ear) if isinstance(ear, str) else ear


def _digest(notes: tuple[Note, ...]) -> str:
    """A name for these notes that no others have, as a file's sha256 is."""
    import hashlib

    return hashlib.sha256(repr(notes).encode("utf-8")).hexdigest()


def _form(changes: "Changes | str | None") -> "Changes | None":
    """The changes, read if they are text: before anything is heard, since they may be faulty."""
    if not isinstance(changes, str):
        return changes
    from stackline.theory.sheet.changes_text import parse_changes

    return parse_changes(changes)


def _metered(hints: TimeHints, form: "Changes | None") -> TimeHints:
    """The hints, with the meter that the changes are written in where none was given."""
    if form is None or form.beats_per_bar is None or hints.beats_per_bar is not None:
        return hints
    return replace(hints, beats_per_bar=form.beats_per_bar)


def _take(heard: Hearing, changes: "Changes | None", line: Line) -> Take:
    """What was heard, read."""
    if line == "auto" and not any(note.line for note in heard.notes):
        attacks = with_line(heard.attacks)
        heard = replace(heard, notes=in_order(one for each in attacks for one in each.struck),
                        attacks=attacks)  # fmt: skip
    reading = read(heard.attacks, heard.grid, changes=changes, end_s=heard.source.duration_s)
    return Take(
        source=heard.source,
        ear=heard.ear,
        tuning_cents=heard.tuning.offset_cents,
        grid=heard.grid,
        notes=heard.notes,
        attacks=heard.attacks,
        voicings=reading.voicings,
        motions=reading.motions,
        version=__version__,
        not_playing=heard.not_playing,
        swing_ratio=heard.swing_ratio,
        rhythm=reading.rhythm,
    )
