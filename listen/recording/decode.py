"""Any recording to one channel of samples at the rate an ear wants.

Whatever FFmpeg's libraries (PyAV) decode is taken: wav, flac, ogg, mp3, m4a, the sound of
a video, webm. The file is streamed: frames are scaled to full scale 1.0, their channels
averaged, resampled by soxr and spooled to disk, so memory does not grow with length.

Averaging is done here, since a mono layout in FFmpeg's resampler scales by sqrt(1/2) per
channel and is louder than the mean. Where the channels cancel each other (one of two is turned
around), or all but one are as good as silent, the loudest is heard alone. Samples that are not
numbers are refused: what they hide is unknown. Where a recording is damaged the stretch is left
silent and hearing goes on behind it (`sound_frames`); where it is cut it is heard up to there
(`endings`).
"""

import hashlib
import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import av
import av.error
import numpy as np
import soxr

from stackline.listen.ear import Progress, silent
from stackline.listen.recording.endings import breaks_off, said_length_s
from stackline.listen.recording.media_file import open_media
from stackline.listen.recording.sound_frames import Frames
from stackline.listen.recording.spool import Spool
from stackline.shared.complaint import Complaint
from stackline.shared.notes import Passage
from stackline.shared.sound import Audio
from stackline.shared.units import clock

LOUDEST = 1e6  # 120 dB above full scale is no sound
LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 4_000, 768_000
LONGEST_S = 86_400.0  # a day: what says it is longer fills the disk
_PLAYABLE = "wav, flac, ogg, mp3, m4a, mp4 or webm"
_CANCELS = 0.01  # power of the mean over that of the loudest channel, 20 dB
_SILENT = 1e-4  # power of a channel over that of the loudest, 40 dB
_APART_S = 1.0  # damaged stretches nearer to each other than this are one


@dataclass(kw_only=True)
class _Heard:
    """What comes out while a recording is read.

    unread: damaged stretches. power: sums of squares, of each channel.
    """

    broken_off_s: float | None = None
    unread: list[Passage] = field(default_factory=list)
    mean_power: float = 0.0
    power: np.ndarray = field(default_factory=lambda: np.zeros(1))

    def add(self, channels: np.ndarray, mean: np.ndarray) -> None:
        """Count one frame in."""
        if len(channels) == 1:
            return
        if len(self.power) != len(channels):
            self.power, self.mean_power = np.zeros(len(channels)), 0.0
        self.power += [float(np.dot(one, one)) for one in channels]
        self.mean_power += float(np.dot(mean, mean))

    def miss(self, start_s: float, end_s: float) -> None:
        """Note that a stretch could not be read."""
        if self.unread and start_s - self.unread[-1].end_s < _APART_S:
            start_s = self.unread.pop().start_s
        self.unread.append(Passage(start_s=start_s, end_s=end_s))

    @property
    def loudest(self) -> int | None:
        """The channel to be heard alone, if any is."""
        return heard_alone(self.mean_power, self.power)


def heard_alone(mean_power: float, power: np.ndarray) -> int | None:
    """The channel that says all, where the mean of channels would hide or weaken it.

    power: of each channel, (n_channels,), summed like the mean's.
    """
    loudest = int(power.argmax())
    others = np.delete(power, loudest)
    hidden = mean_power < _CANCELS * power[loudest]
    silent = len(others) > 0 and others.max() < _SILENT * power[loudest]
    return loudest if hidden or silent else None


def decode(path: Path, sample_rate_hz: int, progress: Progress = silent) -> Audio:
    """Read a recording; raises Complaint for anything that holds no sound.

    The samples of the result are a `Spool`: read them by slicing.
    """
    digest = _sha256(path)
    heard = _Heard()
    samples = _read(path, sample_rate_hz, heard, None, progress)
    if heard.loudest is not None:
        samples = _read(path, sample_rate_hz, _Heard(), heard.loudest, progress)
    if len(samples) == 0:
        raise Complaint(f"{path.name} holds no sound (zero seconds); name a recording")
    progress("reading the recording", 1.0)
    return Audio(
        name=os.fsencode(path.name).decode("utf-8", "replace"),
        samples=samples,
        sample_rate_hz=sample_rate_hz,
        sha256=digest,
        broken_off_s=heard.broken_off_s,
        unread=tuple(heard.unread),
    )


def _read(
    path: Path, sample_rate_hz: int, heard: _Heard, channel: int | None, progress: Progress
) -> Spool:
    """The samples of a recording: of one channel, or the mean of all where it is None."""
    samples = Spool()
    resampler: _Resampler | None = None
    for block, rate, fraction in _blocks(path, heard, channel):
        if resampler is None or resampler.from_hz != rate:
            if resampler is not None:
                samples.append(resampler.end())
            resampler = _Resampler(rate, sample_rate_hz)
        samples.append(resampler.push(block))
        progress("reading the recording", fraction)
    if resampler is not None:
        samples.append(resampler.end())
    return samples


def _sha256(path: Path) -> str:
    """Digest of the file's bytes, hex; Complaint when there is no such file to read."""
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise Complaint(f"{path} is a folder; name one recording in it")
        if not stat.S_ISREG(found.st_mode):
            raise Complaint(f"{path} is a device or a pipe; name a recording kept in a file")
        if found.st_size == 0:
            raise Complaint(f"{path.name} is empty (zero bytes); name a recording")
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError as error:
        raise Complaint(f"there is no file {path}; check the name") from error
    except OSError as error:
        raise Complaint(f"cannot read {path}: {error.strerror}") from error


class _Resampler:
    """One stretch of equal sample rate; soxr keeps its state between blocks."""

    def __init__(self, from_hz: int, to_hz: int) -> None:
        self.from_hz = from_hz
        self._same = from_hz == to_hz
        self._stream = soxr.ResampleStream(from_hz, to_hz, 1, dtype="float32", quality="HQ")

    def push(self, block: np.ndarray) -> np.ndarray:
        return block if self._same else self._stream.resample_chunk(block)

    def end(self) -> np.ndarray:
        nothing = np.zeros(0, np.float32)
        return nothing if self._same else self._stream.resample_chunk(nothing, last=True)


def _blocks(
    path: Path, heard: _Heard, channel: int | None
) -> Iterator[tuple[np.ndarray, int, float]]:
    """Mono blocks with their sample rate and the fraction of the file that is read."""
    try:
        container = open_media(path)
    except (av.error.FFmpegError, ValueError) as error:
        raise Complaint(_unreadable(path)) from error
    with container:
        if not container.streams.audio:
            raise Complaint(f"{path.name} has no sound track; name a recording ({_PLAYABLE})")
        total_s, done_s, lost_s = said_length_s(container), 0.0, 0.0
        frames = Frames(container, total_s)
        for frame, missing_s in frames:
            block, rate = _mono(frame, heard, channel), _usable_rate(frame, path)
            _check(block, path, done_s, rate)
            if frames.is_damage(missing_s):
                heard.miss(done_s, done_s + missing_s)
            lost_s += missing_s
            for part in (*_silence(missing_s, rate), block):
                done_s += len(part) / rate
                if done_s > LONGEST_S:
                    raise Complaint(
                        f"{path.name} is longer than a day of sound; name a shorter one"
                    )
                yield part, rate, min(1.0, done_s / total_s) if total_s else 0.0
        if done_s == 0.0 and frames.failed:
            raise Complaint(_unreadable(path))
        if lost_s > done_s / 2:
            raise Complaint(
                f"most of {path.name} is damaged ({clock(lost_s)} of {clock(done_s)} cannot be "
                "read); copy or export it again"
            )
        if breaks_off(path, container, done_s, failed=frames.failed):
            heard.broken_off_s = done_s


def _silence(seconds: float, rate_hz: int) -> Iterator[np.ndarray]:
    """Zeros in place of what cannot be read, a second at a time."""
    left = round(seconds * rate_hz)
    while left > 0:
        yield np.zeros(min(left, rate_hz), np.float32)
        left -= rate_hz


def _usable_rate(frame: av.AudioFrame, path: Path) -> int:
    if not LOWEST_RATE_HZ <= frame.sample_rate <= HIGHEST_RATE_HZ:
        raise Complaint(
            f"{path.name} has {frame.sample_rate} samples a second; allowed are "
            f"{LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ}, usual are 44100 and 48000"
        )
    return int(frame.sample_rate)


def _mono(frame: av.AudioFrame, heard: _Heard, channel: int | None) -> np.ndarray:
    """One channel of a frame, or the mean of all; float32, full scale 1.0."""
    values = frame.to_ndarray()
    if not frame.format.is_planar:
        values = values.reshape(-1, len(frame.layout.channels)).T
    channels = _full_scale(values)
    if channel is not None and channel < len(channels):
        return np.asarray(channels[channel], np.float32)
    total = sum(channels[1:], start=channels[0])  # a mean over interleaved samples is slow
    mean = np.asarray(total / len(channels), np.float32)
    heard.add(channels, mean)
    return mean


def _full_scale(values: np.ndarray) -> np.ndarray:
    """Integer samples scaled so that their most negative value is -1.0; floats as they are."""
    if values.dtype.kind == "f":
        return values
    if values.dtype.kind == "u":
        return (values.astype(np.float64) - 128.0) / 128.0
    return values.astype(np.float64) / -float(np.iinfo(values.dtype).min)


def _check(block: np.ndarray, path: Path, start_s: float, rate: int) -> None:
    """Refuse samples that are not numbers, or beyond any sound."""
    bad = ~(np.abs(block) <= LOUDEST)
    if bad.any():
        at = clock(start_s + int(bad.argmax()) / rate)
        raise Complaint(
            f"{path.name} holds samples that are not numbers (first at {at}); export it again"
        )


def _unreadable(path: Path) -> str:
    return f"{path.name} is not a recording that can be read; name a {_PLAYABLE} file"
