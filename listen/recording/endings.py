"""Where a recording that was cut or damaged breaks off: what the file says of its own end.

Only what can be trusted counts: a length in an index or a header that is written when a recording
is finished, a last page that is marked as the last. A browser's webm without a length, and an mp3
without an Info header, may be cut anywhere and nothing shows it: then nothing is said.

Sources: RIFF/WAVE (Microsoft and IBM, 1991), ISO/IEC 14496-12, RFC 9639 (FLAC), RFC 3533 (Ogg, the
page header and its end-of-stream flag), RFC 9559 (Matroska); the Xing and Info headers of mp3 have
no standard, they are as common encoders write them.
"""

import struct
from pathlib import Path

import av
from av.container import InputContainer

_SLACK_S = {"mov": 1.0, "matroska": 1.0, "mp3": 1.0, "flac": 0.1, "aiff": 0.1, "wav": 0.05}
_AT_THE_END_S = 0.05  # what fails nearer to the said end than this is no loss
_UNSAID = 0xFFFFFF00  # data sizes from here on say that the recorder did not know
_HEAD, _TAIL = 65_536, 131_072  # bytes to look through
_LAST_PAGE = 0x04  # the flag of an Ogg page


def breaks_off(path: Path, container: InputContainer, heard_s: float, *, failed: bool) -> bool:
    """Whether the file says that more was to come after the seconds that were heard.

    failed: the decoder stopped at something that it could not read. Behind all of the sound that
    is no loss (players and taggers write there).
    """
    said_s = trusted_length_s(path, container)
    slack_s = next((s for name, s in _SLACK_S.items() if name in container.format.name), 0.0)
    if said_s is not None:
        return heard_s < said_s - (_AT_THE_END_S if failed else slack_s)
    return failed or (container.format.name == "ogg" and not _has_last_page(path))


def said_length_s(container: InputContainer) -> float | None:
    """How long the file says it is, or how long FFmpeg takes it to be, if known."""
    stream = container.streams.audio[0]
    if stream.duration is not None and stream.time_base is not None:
        return float(stream.duration * stream.time_base)
    return container.duration / av.time_base if container.duration else None


def trusted_length_s(path: Path, container: InputContainer) -> float | None:
    """The length that the file itself gives, in seconds; None where it gives none."""
    kind = container.format.name
    if kind == "wav":
        return _wav_s(path)
    if kind == "mp3" and not _has_frame_count(path):
        return None
    return said_length_s(container) if any(name in kind for name in _SLACK_S) else None


def _wav_s(path: Path) -> float | None:
    """The length of a wav by its data chunk, seconds; None where the chunk says none."""
    head = _read(path, 0, _HEAD)
    at, bytes_per_s = 12, 0
    while at + 8 <= len(head):
        name, size = struct.unpack_from("<4sI", head, at)
        if name == b"fmt " and at + 20 <= len(head):
            (bytes_per_s,) = struct.unpack_from("<I", head, at + 16)
        if name == b"data":
            return size / bytes_per_s if bytes_per_s and 0 < size < _UNSAID else None
        at += 8 + size + size % 2
    return None


def _has_frame_count(path: Path) -> bool:
    """Whether the first frame of an mp3 is a Xing or Info header, which counts the frames."""
    head = _read(path, 0, 10)
    start = 0
    if head[:3] == b"ID3" and len(head) == 10:  # a tag first, its size in 7 bits a byte
        start = 10 + sum(
            (byte & 0x7F) << shift for byte, shift in zip(head[6:], (21, 14, 7, 0), strict=True)
        )
    first = _read(path, start, 4096)
    return b"Xing" in first or b"Info" in first


def _has_last_page(path: Path) -> bool:
    """Whether an Ogg file ends in a whole page that is marked as the last."""
    size = path.stat().st_size
    tail = _read(path, max(0, size - _TAIL), _TAIL)
    at = tail.rfind(b"OggS")
    if at < 0 or at + 27 > len(tail):
        return False
    segments = tail[at + 26]
    length = 27 + segments + sum(tail[at + 27 : at + 27 + segments])
    return bool(tail[at + 5] & _LAST_PAGE) and at + length <= len(tail)


def _read(path: Path, start: int, count: int) -> bytes:
    with path.open("rb") as file:
        file.seek(start)
        return file.read(count)
