"""A picture as a camera would give it, with nothing in its file beside the picture: no two are alike."""

from __future__ import annotations

import random
import struct
import zlib

SIDES = (16, 60)
"""Of its sides, at least and at most. [px]"""


def picture(chance: random.Random) -> bytes:
    """Return the bytes of a PNG of some kilobytes that nobody took before."""
    return png(chance, chance.randint(*SIDES), chance.randint(*SIDES))


def png(chance: random.Random, width: int, height: int) -> bytes:
    """Return a PNG of that size [px], each of its points by chance."""
    rows = b"".join(b"\0" + chance.randbytes(3 * width) for _ in range(height))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(rows, 1)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, body) for name, body in parts)


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
