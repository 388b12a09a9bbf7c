"""MIDI files in: odd ones by the hundred, our own, and what another reader makes of them.

The other reader is pretty_midi (its own reading of tempo maps). Formats and meta events are those
of the Standard MIDI Files specification (RP-001).
"""

import io
import random
from pathlib import Path

import mido
import pretty_midi
import pytest

from fixtures.played.lines.line_takes import add_line, as_heard, left_hand
from stackline import read_notes, transcribe
from stackline.listen.recording.midi_keys import Keys, is_midi, read_midi
from stackline.report.files import midi_file
from stackline.report.words.take_view import TakeView
from stackline.shared.complaint import Complaint
from stackline.shared.notes import Beat, BeatGrid
from tests.support.takes.sample_take import sample_take

CHORDS = ((53, 57, 60, 64), (53, 57, 59, 64), (52, 57, 62, 64))


def _file(*tracks: list[mido.Message], kind: int = 1, per_beat: int = 480) -> mido.MidiFile:
    file = mido.MidiFile(type=kind, ticks_per_beat=per_beat)
    file.tracks += [mido.MidiTrack(track) for track in tracks]
    return file


def _chords(per_beat: int = 480, channel: int = 0) -> list[mido.Message]:
    """A chord a bar of four quarters, held for three."""
    found = []
    for chord in CHORDS:
        found += [mido.Message("note_on", note=m, velocity=60 + i, channel=channel, time=0)
                  for i, m in enumerate(chord)]  # fmt: skip
        for i, m in enumerate(chord):
            found.append(mido.Message("note_off", note=m, channel=channel,
                                      time=0 if i else 3 * per_beat))  # fmt: skip
        found[-1].time += 0
        found.append(mido.Message("control_change", control=1, value=0, time=per_beat))
    return found


def _saved(file: mido.MidiFile, path: Path) -> Path:
    file.save(path)
    return path


def test_tempo_meter_velocity_and_lengths_are_those_of_the_file(tmp_path: Path) -> None:
    """Three-four at 90, then 60 from the second chord on."""
    conductor = [
        mido.MetaMessage("time_signature", numerator=3, denominator=4, time=0),
        mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(90), time=0),
        mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(60), time=4 * 480),
    ]
    keys = read_midi(_saved(_file(conductor, _chords()), tmp_path / "take.mid"))
    assert [n.midi for n in keys.notes] == [m for chord in CHORDS for m in chord]
    assert [n.velocity for n in keys.notes[:4]] == [60, 61, 62, 63]
    assert all(note.confidence == 1.0 for note in keys.notes)
    assert keys.notes[4].onset_s == pytest.approx(4 * 60 / 90, abs=1e-4)
    assert keys.notes[4].offset_s == pytest.approx(4 * 60 / 90 + 3.0, abs=1e-4)
    assert keys.grid is not None
    assert keys.grid.beats_per_bar == 3
    assert [beat.number for beat in keys.grid.beats[:5]] == [1, 2, 3, 1, 2]


def test_the_pedal_holds_what_the_fingers_let_go(tmp_path: Path) -> None:
    """Until it comes up, or the key is struck again."""
    track = [
        mido.Message("note_on", note=60, velocity=70, time=0),
        mido.Message("control_change", control=64, value=127, time=240),
        mido.Message("note_off", note=60, time=240),
        mido.Message("note_on", note=64, velocity=70, time=0),
        mido.Message("note_off", note=64, time=240),
        mido.Message("note_on", note=64, velocity=50, time=240),
        mido.Message("control_change", control=64, value=0, time=480),
        mido.Message("note_off", note=64, time=480),
    ]
    notes = read_midi(_saved(_file(track, kind=0), tmp_path / "pedal.mid")).notes
    ends = {(n.midi, round(n.onset_s, 3)): round(n.offset_s, 3) for n in notes}
    assert ends == {(60, 0.0): 1.5, (64, 0.5): 1.0, (64, 1.0): 2.0}


def test_formats_tracks_and_running_status(tmp_path: Path) -> None:
    """One track or three, and bytes in which the status stands once, give the same notes."""
    one = _saved(_file(_chords(), kind=0), tmp_path / "one.mid")
    hands = [[m for m in _chords() if m.type == "control_change" or keep(m.note)]
             for keep in (lambda n: n < 58, lambda n: n >= 58)]  # fmt: skip
    assert [n.midi for n in read_midi(one).notes] == [m for chord in CHORDS for m in chord]
    assert len(hands) == 2
    body = bytes([0, 0x90, 60, 64, 0, 64, 64, 0x83, 0x60, 60, 0, 0, 64, 0, 0, 0xFF, 0x2F, 0])
    raw = (b"MThd" + (6).to_bytes(4, "big") + bytes([0, 0, 0, 1, 1, 0xE0])
           + b"MTrk" + len(body).to_bytes(4, "big") + body)  # fmt: skip
    (tmp_path / "running.mid").write_bytes(raw)
    notes = read_midi(tmp_path / "running.mid").notes
    assert [(n.midi, n.velocity, n.offset_s) for n in notes] == [(60, 64, 0.5), (64, 64, 0.5)]
    riff = b"RIFF" + (len(raw) + 12).to_bytes(4, "little") + b"RMIDdata"
    (tmp_path / "wrapped.rmi").write_bytes(riff + len(raw).to_bytes(4, "little") + raw)
    assert is_midi(tmp_path / "wrapped.rmi")
    assert read_midi(tmp_path / "wrapped.rmi").notes == notes


def test_a_tempo_that_nobody_heard_is_no_beat(tmp_path: Path) -> None:
    """120 in the file, chords anywhere: beats are found from what is played, not from there."""
    rng = random.Random(4)
    track = [mido.MetaMessage("set_tempo", tempo=500_000, time=0)]
    for i in range(30):
        track.append(mido.Message("note_on", note=60 + i % 12, velocity=70,
                                  time=rng.randrange(200, 700)))  # fmt: skip
        track.append(mido.Message("note_off", note=60 + i % 12, time=100))
    assert read_midi(_saved(_file(track, kind=0), tmp_path / "free.mid")).grid is None


def test_our_own_files_come_back(tmp_path: Path) -> None:
    """Notes, hands' tracks, tempo map and meter of a file that was written here."""
    take = sample_take()
    (tmp_path / "own.mid").write_bytes(midi_file.render(TakeView(take)))
    again = transcribe(tmp_path / "own.mid")
    assert [n.midi for n in again.notes] == [n.midi for n in take.notes]
    assert [n.velocity for n in again.notes] == [n.velocity for n in take.notes]
    for one, two in zip(take.notes, again.notes, strict=True):
        assert abs(one.onset_s - two.onset_s) < 0.002
    same = read_notes(take.notes, beats=take.grid)
    assert [v.pitches for v in again.voicings] == [v.pitches for v in same.voicings]
    assert again.grid.tempo_bpm == pytest.approx(take.grid.tempo_bpm, abs=0.2)


def test_a_line_in_our_own_file_is_still_one(tmp_path: Path) -> None:
    """The third track says which notes are of it."""
    made = add_line(left_hand(31, duration_s=20.0), "scales", 31)
    beats = tuple(Beat(time_s=at, number=i % 4 + 1) for i, at in enumerate(made.beats_s))
    grid = BeatGrid(beats=beats, tempo_bpm=made.tempo_bpm, source="heard", confidence=0.9)
    take = read_notes(as_heard(made), beats=grid)
    (tmp_path / "line.mid").write_bytes(midi_file.render(TakeView(take)))
    again = transcribe(tmp_path / "line.mid")
    wanted = sorted(n.midi for n in take.notes if n.is_of_line)
    assert sorted(n.midi for n in again.notes if n.is_of_line) == wanted


def _odd(rng: random.Random) -> bytes:
    """A MIDI file of some odd kind, whole or damaged."""
    kind = rng.choice([0, 1, 1, 2])
    per_beat = rng.choice([24, 96, 480, 960, 1, 32767])
    tracks = []
    for number in range(1 if kind == 0 else rng.randrange(1, 5)):
        track: list[mido.Message] = []
        for _ in range(rng.randrange(0, 40)):
            time = rng.choice([0, 0, per_beat // 2, per_beat, rng.randrange(4 * per_beat)])
            channel = rng.choice([0, number % 16, 9])
            note = rng.randrange(0, 128)
            track.append(rng.choice([
                mido.Message("note_on", note=note, velocity=rng.randrange(128), channel=channel,
                             time=time),
                mido.Message("note_off", note=note, channel=channel, time=time),
                mido.Message("control_change", control=rng.choice([64, 66, 123]),
                             value=rng.randrange(128), channel=channel, time=time),
                mido.Message("pitchwheel", pitch=rng.randrange(-8192, 8191), time=time),
                mido.Message("sysex", data=[rng.randrange(128) for _ in range(5)], time=time),
                mido.MetaMessage("set_tempo", tempo=rng.choice([1, 250_000, 16_777_215]),
                                 time=time),
                mido.MetaMessage("time_signature", numerator=rng.randrange(1, 16),
                                 denominator=rng.choice([1, 2, 4, 8, 16]), time=time),
                mido.MetaMessage("text", text="a word", time=time),
            ]))  # fmt: skip
        tracks.append(track)
    out = io.BytesIO()
    _file(*tracks, kind=kind, per_beat=per_beat).save(file=out)
    data = bytearray(out.getvalue())
    damage = rng.random()
    if damage < 0.15:
        data = data[: rng.randrange(len(data))]
    elif damage < 0.35:
        for _ in range(rng.randrange(1, 6)):
            data[rng.randrange(4, len(data))] = rng.randrange(256)
    elif damage < 0.4:
        data[12:14] = bytes([0xE7, 40])  # 25 frames a second, 40 ticks each
    return bytes(data)


def _outcome(path: Path) -> tuple[Keys | None, str]:
    """What is read, or the sentence."""
    try:
        return read_midi(path), ""
    except Complaint as complaint:
        return None, str(complaint)


def test_two_hundred_odd_files_are_read_or_refused_in_a_sentence(tmp_path: Path) -> None:
    """Nothing else comes of them; of those that are read, every note is one of a piano."""
    rng, read, refused = random.Random(20), 0, 0
    path = tmp_path / "odd.mid"
    for _ in range(200):
        path.write_bytes(_odd(rng))
        keys, sentence = _outcome(path)
        if keys is None:
            assert sentence.startswith(str(path))
            assert "\n" not in sentence
            refused += 1
            continue
        read += 1
        assert all(21 <= n.midi <= 108 and n.onset_s <= n.offset_s for n in keys.notes)
        assert list(keys.notes) == sorted(keys.notes, key=lambda n: (n.onset_s, n.midi))
    assert read >= 60
    assert refused >= 30


@pytest.mark.filterwarnings("ignore")
def test_onsets_agree_with_another_reader(tmp_path: Path) -> None:
    """Of whole files of format 0 and 1, with tempo maps: the same onsets within a millisecond."""
    rng, compared = random.Random(31), 0
    path = tmp_path / "two.mid"
    for _ in range(30):
        track = [mido.MetaMessage("set_tempo", tempo=rng.randrange(250_000, 1_200_000), time=0)]
        for _ in range(25):
            track.append(mido.Message("note_on", note=rng.randrange(30, 100), velocity=64,
                                      time=rng.randrange(1, 600)))  # fmt: skip
            track.append(mido.Message("note_off", note=track[-1].note, time=rng.randrange(1, 300)))
            if rng.random() < 0.3:
                track.append(
                    mido.MetaMessage(
                        "set_tempo",
                        tempo=rng.randrange(250_000, 1_200_000),
                        time=rng.randrange(200),
                    )
                )
        _saved(_file(track, kind=0), path)
        ours = [(note.midi, note.onset_s) for note in read_midi(path).notes]
        theirs = sorted(
            ((n.pitch, n.start) for i in pretty_midi.PrettyMIDI(str(path)).instruments
             for n in i.notes), key=lambda one: (one[1], one[0]),
        )  # fmt: skip
        assert [one for one, _ in ours] == [one for one, _ in theirs]
        assert all(abs(a[1] - b[1]) < 1e-3 for a, b in zip(ours, theirs, strict=True))
        compared += len(ours)
    assert compared > 500


def test_what_is_no_midi_file_is_refused(tmp_path: Path) -> None:
    """A text with the right first letters; patterns of format 2; only drums."""
    bad = tmp_path / "bad.mid"
    bad.write_bytes(b"MThd and nothing else")
    with pytest.raises(Complaint, match="is damaged"):
        read_midi(bad)
    two = _saved(_file(_chords(), kind=2), tmp_path / "two.mid")
    with pytest.raises(Complaint, match="format 2"):
        read_midi(two)
    drums = _saved(_file(_chords(channel=9), kind=0), tmp_path / "drums.mid")
    with pytest.raises(Complaint, match="no note of a piano"):
        read_midi(drums)
