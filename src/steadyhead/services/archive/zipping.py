"""Write a zip piece by piece: what lists its files waits on the disk, so that memory does not grow with it.

Sizes and checksum stand before each file, as every program that reads zips expects (APPNOTE 6.3.10, 4.3);
a table of unknown length is packed into a file of the system's temporary folder first.
"""

from __future__ import annotations

import hashlib
import struct
import tempfile
import zlib
from collections.abc import Iterable, Iterator
from types import TracebackType
from typing import IO

PIECE = 1 << 16
STORED, DEFLATED = 0, 8
WIDE = 0xFFFFFFFF
"""From here on sizes and places need eight bytes. [bytes]"""
MANY = 0xFFFF
"""From here on the number of files does."""
IN_MEMORY = 1_000_000
"""Up to here what waits stays in memory. [bytes]"""
_UTF8 = 0x800
_UNIX, _PLAIN_FILE = 3, 0o100644 << 16


class ZipStream:
    """A zip under way; its files are put in one after the other, and what is finished is handed on.

    moment: year to second, which every file bears.
    """

    def __init__(self, moment: tuple[int, ...]) -> None:
        year, month, day, hour, minute, second = moment
        self._date = (max(year, 1980) - 1980) << 9 | month << 5 | day
        self._time = hour << 11 | minute << 5 | second // 2
        self._listed: IO[bytes] = tempfile.SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115 - closed at the end
        self._at = 0
        self._count = 0
        self.last_sha256 = ""
        """Hash of the file put in last."""
        self.last_size = 0
        """Its size. [bytes]"""

    def __enter__(self) -> ZipStream:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, where: TracebackType | None
    ) -> None:
        self._listed.close()

    def put(self, name: str, chunks: Iterable[bytes], *, packed: bool = True) -> Iterator[bytes]:
        """Put a file in, and yield the zip's next bytes. packed: whether it is worth packing."""
        method = DEFLATED if packed else STORED
        with tempfile.SpooledTemporaryFile(IN_MEMORY) as body:
            crc, size, digest = 0, 0, hashlib.sha256()
            packer = zlib.compressobj(6, zlib.DEFLATED, -15)
            for chunk in chunks:
                crc = zlib.crc32(chunk, crc)
                size += len(chunk)
                digest.update(chunk)
                body.write(packer.compress(chunk) if packed else chunk)
            if packed:
                body.write(packer.flush())
            short = body.tell()
            self.last_sha256, self.last_size = digest.hexdigest(), size
            yield self._sent(self._head(name.encode(), method, crc, short, size))
            body.seek(0)
            while piece := body.read(PIECE):
                yield self._sent(piece)

    def _sent(self, piece: bytes) -> bytes:
        self._at += len(piece)
        return piece

    def _head(self, name: bytes, method: int, crc: int, short: int, size: int) -> bytes:
        """Return what stands before a file, and note what the list at the end says of it."""
        sizes = struct.pack("<QQ", size, short) if max(short, size) >= WIDE else b""
        place = struct.pack("<Q", self._at) if self._at >= WIDE else b""
        version = 45 if sizes or place else 20
        common = struct.pack("<HHHHL", _UTF8, method, self._time, self._date, crc)
        common += struct.pack("<LL", WIDE, WIDE) if sizes else struct.pack("<LL", short, size)
        extra = _wide(sizes)
        local = struct.pack("<4sH", b"PK\3\4", version) + common
        listed_extra = _wide(sizes + place)
        listed = struct.pack("<4sBBH", b"PK\1\2", version, _UNIX, version) + common
        listed += struct.pack("<HHHHHLL", len(name), len(listed_extra), 0, 0, 0, _PLAIN_FILE,
                              WIDE if place else self._at)  # fmt: skip
        self._listed.write(listed + name + listed_extra)
        self._count += 1
        return local + struct.pack("<HH", len(name), len(extra)) + name + extra

    def end(self) -> Iterator[bytes]:
        """Yield the list of the files, which ends the zip."""
        begin, size = self._at, self._listed.tell()
        self._listed.seek(0)
        while piece := self._listed.read(PIECE):
            yield self._sent(piece)
        tail = b""
        if self._count >= MANY or begin >= WIDE or size >= WIDE:
            tail += struct.pack("<4sQBBHLLQQQQ", b"PK\6\6", 44, 45, _UNIX, 45, 0, 0, self._count, self._count,
                                size, begin)  # fmt: skip
            tail += struct.pack("<4sLQL", b"PK\6\7", 0, begin + size, 1)
        count = min(self._count, MANY)
        tail += struct.pack("<4sHHHHLLH", b"PK\5\6", 0, 0, count, count, min(size, WIDE), min(begin, WIDE), 0)
        yield self._sent(tail)


def _wide(values: bytes) -> bytes:
    """Return the extra field that holds what needs eight bytes; empty where nothing does."""
    return struct.pack("<HH", 1, len(values)) + values if values else b""
