"""The colours of a PNG, read with the standard library alone."""

from __future__ import annotations

import struct
import zlib
from collections import Counter


def colours(data: bytes) -> Counter[tuple[int, int, int]]:
    """Return how often each opaque colour stands in an 8-bit RGB or RGBA picture."""
    width, channels, body = _parts(data)
    raw, stride = zlib.decompress(body), width * channels
    before, found = bytes(stride), Counter[tuple[int, int, int]]()
    for start in range(0, len(raw), stride + 1):
        before = _line(raw[start], raw[start + 1 : start + 1 + stride], before, channels)
        found.update(zip(before[0::channels], before[1::channels], before[2::channels], strict=True))
    return found


def _parts(data: bytes) -> tuple[int, int, bytes]:
    place, width, channels, body = 8, 0, 0, b""
    while place < len(data):
        length, kind = struct.unpack(">I4s", data[place : place + 8])
        chunk = data[place + 8 : place + 8 + length]
        if kind == b"IHDR":
            width, _, depth, colour = struct.unpack(">IIBB", chunk[:10])
            assert depth == 8
            channels = {2: 3, 6: 4}[colour]
        elif kind == b"IDAT":
            body += chunk
        place += length + 12
    return width, channels, body


def _line(kind: int, line: bytes, above: bytes, step: int) -> bytes:
    """Undo one row's filter (PNG specification, part 9)."""
    done = bytearray(line)
    for i in range(len(done)):
        left, up = (done[i - step] if i >= step else 0), above[i]
        corner = above[i - step] if i >= step else 0
        if kind == 1:
            done[i] = (done[i] + left) & 255
        elif kind == 2:
            done[i] = (done[i] + up) & 255
        elif kind == 3:
            done[i] = (done[i] + (left + up) // 2) & 255
        elif kind == 4:
            guess = left + up - corner
            nearest = min((left, up, corner), key=lambda value: abs(guess - value))
            done[i] = (done[i] + nearest) & 255
    return bytes(done)
