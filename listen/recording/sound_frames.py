"""The frames of a sound track in order, going on behind what cannot be read.

A damaged stretch is passed over, and its length is found so that all that follows keeps its time.
FLAC, Ogg, Matroska and MP4 number their samples or date their packets, so the length is exact to a
packet. An mp3 does neither: there it is the bytes that were passed over at the average rate of
those before, right for a constant bit rate and near it for others. Of a bare aac stream nothing
says how much was passed over, so it is heard up to there. What is garbled and still decodes is
heard as it is: nothing shows it.
"""

from collections.abc import Iterator

import av
import av.error
from av.container import InputContainer

_DATED_EXACTLY = ("flac", "ogg", "wav", "aiff")  # the rest have the times of a recorder's clock
_EXACT_S, _CLOCK_S = 0.02, 0.1  # a jump in time is a loss from here on, where nothing failed
_ROUNDED_S = 0.005  # and where something failed: what times are rounded to
_PAUSE_S = 0.5  # a recorder may leave out this much silence
_BACK_S = 0.1  # a time further back than this is damaged itself
_UNSAID_S = 30.0  # longest loss that is believed of a file without a length
_TAGS = (b"ID3", b"TAG", b"APETAGEX")  # how what is no sound begins in an mp3
_TRIES = 100  # failures to find a packet before the rest is given up


class Frames:
    """Iterate for pairs: a frame, and the seconds lost before it (0.0 where none are).

    failed: whether anything could not be read since the last frame; at the end, whether the
    sound stops at something unreadable. A file that fails from the start yields nothing.
    """

    def __init__(self, container: InputContainer, said_s: float | None) -> None:
        """said_s: how long the file says it is, if it does."""
        self._container, self._stream = container, container.streams.audio[0]
        self._by_bytes = container.format.name == "mp3"
        self._dated_exactly = container.format.name in _DATED_EXACTLY
        start, base = self._stream.start_time, self._stream.time_base
        self._end_s = None if start is None or base is None else float(start * base)
        self._last_s = None if said_s is None else (self._end_s or 0.0) + said_s + 1.0
        self._place: int | None = None  # the byte behind the last packet that was read
        self._read, self._read_s = 0, 0.0  # bytes and seconds until now
        self.failed = False

    def __iter__(self) -> Iterator[tuple[av.AudioFrame, float]]:
        for packet in self._packets():
            try:
                decoded = packet.decode()
            except (av.error.FFmpegError, ValueError):
                if self._is_tag(packet):
                    continue
                self.failed = True
                if self._container.format.name == "aac":
                    return
                continue
            passed_s = self._passed_s(packet)
            for frame in decoded:
                if isinstance(frame, av.AudioFrame):
                    yield frame, passed_s + self._jump_before(frame)
                    self.failed, passed_s = False, 0.0

    def is_damage(self, lost_s: float) -> bool:
        """Whether a loss is worth a word: short silences are left out by some recorders (opus)."""
        return lost_s > 0.0 and (self.failed or self._dated_exactly or lost_s >= _PAUSE_S)

    def _is_tag(self, packet: av.Packet) -> bool:
        """Whether a packet of an mp3 is a title or a picture, as where two files were joined."""
        if not self._by_bytes or not bytes(packet).startswith(_TAGS):
            return False
        self._place = (packet.pos or 0) + packet.size
        return True

    def _packets(self) -> Iterator[av.Packet]:
        packets = self._container.demux(self._stream)
        for _ in range(_TRIES):
            try:
                yield from packets
            except (av.error.FFmpegError, ValueError):
                self.failed = True
                packets = self._container.demux(self._stream)
            else:
                return

    def _passed_s(self, packet: av.Packet) -> float:
        """Seconds of the bytes before a packet, where nothing else says how long they were."""
        if not self._by_bytes or packet.pos is None or not packet.size:
            return 0.0
        passed = packet.pos - self._place if self.failed and self._place is not None else 0
        self._place = packet.pos + packet.size
        passed_s = passed * self._read_s / self._read if self._read else 0.0
        self._read += packet.size
        return passed_s if passed > 0 else 0.0

    def _jump_before(self, frame: av.AudioFrame) -> float:
        """Seconds from the end of the frame before to this one; the clock follows it."""
        length_s = frame.samples / frame.sample_rate
        self._read_s += length_s
        ahead_s = 0.0
        if frame.time is not None and self._end_s is not None:
            ahead_s = frame.time - self._end_s
        if ahead_s < -_BACK_S or not self._is_believed(ahead_s):
            ahead_s = 0.0
        self._end_s = (self._end_s or 0.0) + ahead_s + length_s
        least_s = _EXACT_S if self._dated_exactly else _CLOCK_S
        least_s = _ROUNDED_S if self.failed else least_s
        return ahead_s if ahead_s > least_s and not self._by_bytes else 0.0

    def _is_believed(self, ahead_s: float) -> bool:
        if self._last_s is not None:
            return (self._end_s or 0.0) + ahead_s <= self._last_s
        return ahead_s <= _UNSAID_S
