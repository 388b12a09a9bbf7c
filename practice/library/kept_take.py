"""A take as the library keeps it: JSON, format 1, compressed with zlib."""

import json
import zlib

from stackline.shared.codec.codec_read import from_json
from stackline.shared.codec.codec_write import to_data
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take

LARGEST = 256 * 2**20  # bytes of JSON: twenty times two hours of playing


def pack(take: Take) -> bytes:
    """The take's document."""
    text = json.dumps(to_data(take), ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return zlib.compress(text.encode("utf-8"), 6)


def unpack(document: bytes) -> Take:
    """The take of a document; raises Complaint where it is damaged."""
    try:
        text = _unpacked(document).decode("utf-8")
    except (zlib.error, UnicodeDecodeError, TypeError) as error:
        raise Complaint(f"its document cannot be unpacked: {error}") from error
    return from_json(text)


def same(one: bytes, two: bytes) -> bool:
    """Whether two documents say the same (zlib's versions may pack differently)."""
    try:
        return one == two or _unpacked(one) == _unpacked(two)
    except (zlib.error, TypeError):  # the one that is kept is damaged
        return False


def _unpacked(document: bytes) -> bytes:
    whole = zlib.decompressobj()
    found = whole.decompress(document, LARGEST)
    if not whole.eof:
        raise zlib.error("it is cut off, or too large")
    return found
