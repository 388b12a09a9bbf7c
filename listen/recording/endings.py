"""Where a recording that was cut or damaged breaks off: what the file says of its own end.

Only what can be trusted counts: a length in an index or a header that is written when a recording
is finished, a last page that is marked as the last, a last block or frame that has fewer bytes
than it says. A browser's webm, or an mp3 without an Info header, that is cut just between two
blocks or frames is as good as whole: then nothing is said.

Sources: RIFF/WAVE (Microsoft and IBM, 1991), ISO/IEC 14496-12, RFC 9639 (FLAC), RFC 3533 (Ogg, the
page header and its end-of-stream flag), RFC 8794 and 9559 (EBML, Matroska), ISO/IEC 11172-3 and
13818-3 (headers of mp3 frames); the Xing and Info headers of mp3 have no standard, they are as
common encoders write them.
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
_INSIDE = (0x18538067, 0x1F43B675)  # a Matroska segment and its clusters: what holds the rest
_ELEMENTS = frozenset(
    (*_INSIDE, 0x1A45DFA3, 0x114D9B74, 0x1549A966, 0x1654AE6B, 0x1C53BB6B, 0x1254C367, 0xE7, 0xA3,
     0xA0, 0xA7, 0xAB, 0xEC, 0xBF)
)  # fmt: skip
_KBPS_1 = (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)  # of MPEG-1 layer III
_KBPS_2 = (0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160)  # of MPEG-2 and 2.5
_RATES_HZ = (44_100, 48_000, 32_000)


def breaks_off(path: Path, container: InputContainer, heard_s: float, *, failed: bool) -> bool:
    """Whether the file says that more was to come after the seconds that were heard.

    failed: the decoder stopped at something that it could not read. Behind all of the sound that
    is no loss (players and taggers write there).
    """
    failed = failed or _ends_inside(path, container.format.name)
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


def _ends_inside(path: Path, kind: str) -> bool:
    """Whether the file ends inside a block of Matroska, or inside a frame of an mp3."""
    if "matroska" in kind:
        return _ends_inside_element(path)
    return kind == "mp3" and _ends_inside_frame(path)


def _ends_inside_element(path: Path) -> bool:
    size = path.stat().st_size
    with path.open("rb") as file:
        at = 0
        while at < size:
            file.seek(at)
            head = file.read(12)
            name, body = _vint(head, 0, keep=True)
            length, begins = _vint(head, body)
            if name not in _ELEMENTS or begins == body:
                return False
            unsaid = length == (1 << 7 * (begins - body)) - 1
            whole = not unsaid and at + begins + length <= size
            if name == _INSIDE[0] or (name in _INSIDE and not whole):
                at += begins
            elif not whole:
                return True
            else:
                at += begins + length
    return False


def _vint(data: bytes, at: int, *, keep: bool = False) -> tuple[int, int]:
    """An EBML number and where it ends; keep: with the bit that gives its length."""
    if at >= len(data) or not data[at]:
        return -1, at
    count = 9 - data[at].bit_length()
    value = int.from_bytes(data[at : at + count], "big")
    return value if keep else value & ((1 << 7 * count) - 1), at + count


def _ends_inside_frame(path: Path) -> bool:
    size = path.stat().st_size
    tail = _read(path, max(0, size - _HEAD), _HEAD)
    for start in range(len(tail) - 3):
        at, count = start, 0
        while length := _frame_bytes(tail[at : at + 4]):
            at, count = at + length, count + 1
        if count > 3:  # no chance: three frames, each where the one before says
            return at > len(tail)
    return False


def _frame_bytes(head: bytes) -> int:
    """How long an mp3 frame with this header is; 0 where it is none."""
    if len(head) < 4 or head[0] != 0xFF or head[1] & 0xE6 != 0xE2:
        return 0
    version, rate = head[1] >> 3 & 3, head[2] >> 2 & 3
    first = version == 3
    if version == 1 or rate == 3 or head[2] >> 4 in (0, 15):
        return 0
    rate_hz = _RATES_HZ[rate] >> {3: 0, 2: 1, 0: 2}[version]
    kbps = (_KBPS_1 if first else _KBPS_2)[head[2] >> 4]
    return (144_000 if first else 72_000) * kbps // rate_hz + (head[2] >> 1 & 1)


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
