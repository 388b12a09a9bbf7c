"""A take as the library keeps it: JSON, format 1, compressed with zlib."""

import json
import zlib

from stackline.shared.codec.codec_read import from_json
from stackline.shared.codec.codec_write import to_data
from stackline.shared.take import Take


def pack(take: Take) -> bytes:
    """The take's document."""
    text = json.dumps(to_data(take), ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return zlib.compress(text.encode("utf-8"), 6)


def unpack(document: bytes) -> Take:
    """The take of a document."""
    return from_json(zlib.decompress(document).decode("utf-8"))


def same(one: bytes, two: bytes) -> bool:
    """Whether two documents say the same (zlib's versions may pack differently)."""
    return one == two or zlib.decompress(one) == zlib.decompress(two)
