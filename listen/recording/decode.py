"""Any recording to one channel of samples at the rate an ear wants.

Whatever FFmpeg's libraries (PyAV) decode is taken: wav, flac, ogg, mp3, m4a, the sound of
a video, webm. The file is streamed: frames are scaled to full scale 1.0, their channels
averaged, resampled by soxr and spooled to disk, so memory does not grow with length.

Averaging is done here, since a mono layout in FFmpeg's resampler scales by sqrt(1/2) per
channel and is louder than the mean. Samples that are no numbers are refused, not mended:
what they hide is unknown.
"""

import hashlib
from collections.abc import Iterator
from pathlib import Path

import av
import av.error
import numpy as np
import soxr

from stackline.listen.ear import Progress, silent
from stackline.listen.recording.media_file import open_media
from stackline.listen.recording.spool import Spool
from stackline.shared.complaint import Complaint
from stackline.shared.sound import Audio
from stackline.shared.units import clock

LOUDEST = 1e6  # 120 dB above full scale is no sound
_PLAYABLE = "wav, flac, ogg, mp3, m4a, mp4 or webm"
_CUT_OFF_S = 1.0  # an mp4 that is shorter than its own index by more than this is cut off


def decode(path: Path, sample_rate_hz: int, progress: Progress = silent) -> Audio:
    """Read a recording; raises Complaint for anything that holds no sound.

    The samples of the result are a `Spool`: read them by slicing.
    """
    digest = _sha256(path)
    samples = Spool()
    resampler: _Resampler | None = None
    for block, rate, fraction in _blocks(path):
        if resampler is None or resampler.from_hz != rate:
            if resampler is not None:
                samples.append(resampler.end())
            resampler = _Resampler(rate, sample_rate_hz)
        samples.append(resampler.push(block))
        progress("reading the recording", fraction)
    if resampler is not None:
        samples.append(resampler.end())
    if len(samples) == 0:
        raise Complaint(f"{path.name} holds no sound (zero seconds); name a recording")
    progress("reading the recording", 1.0)
    return Audio(name=path.name, samples=samples, sample_rate_hz=sample_rate_hz, sha256=digest)


def _sha256(path: Path) -> str:
    """Digest of the file's bytes, hex; Complaint when there is no such file to read."""
    if path.is_dir():
        raise Complaint(f"{path} is a folder; name one recording in it")
    try:
        if path.stat().st_size == 0:
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


def _blocks(path: Path) -> Iterator[tuple[np.ndarray, int, float]]:
    """Mono blocks with their sample rate and the fraction of the file that is read."""
    try:
        container = open_media(path)
    except av.error.FFmpegError as error:
        raise Complaint(_unreadable(path)) from error
    with container:
        if not container.streams.audio:
            raise Complaint(f"{path.name} has no sound track; name a recording ({_PLAYABLE})")
        stream = container.streams.audio[0]
        total_s = _declared_s(container, stream)
        done_s = 0.0
        frames = container.decode(stream)
        while True:
            try:
                frame = next(frames)
            except StopIteration:
                break
            except (av.error.FFmpegError, ValueError) as error:
                if done_s == 0.0:
                    raise Complaint(_unreadable(path)) from error
                raise Complaint(_broken(path, done_s)) from error
            block = _mono(frame)
            _check(block, path, done_s, frame.sample_rate)
            done_s += len(block) / frame.sample_rate
            yield block, frame.sample_rate, min(1.0, done_s / total_s) if total_s else 0.0
        if "mp4" in container.format.name and total_s and done_s < total_s - _CUT_OFF_S:
            raise Complaint(_broken(path, done_s))


def _declared_s(container: av.container.InputContainer, stream: av.AudioStream) -> float | None:
    """How long the file says it is, if it does."""
    if stream.duration is not None and stream.time_base is not None:
        return float(stream.duration * stream.time_base)
    return container.duration / av.time_base if container.duration else None


def _mono(frame: av.AudioFrame) -> np.ndarray:
    """The mean of a frame's channels, float32, full scale 1.0."""
    values = frame.to_ndarray()
    if not frame.format.is_planar:
        values = values.reshape(-1, len(frame.layout.channels)).T
    channels = _full_scale(values)
    total = sum(channels[1:], start=channels[0])  # a mean over interleaved samples is slow
    return np.asarray(total / len(channels), np.float32)


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
    return f"{path.name} is no recording that can be read; name a {_PLAYABLE} file"


def _broken(path: Path, done_s: float) -> str:
    return f"{path.name} is damaged or cut off at {clock(done_s)}; copy or export it again"
