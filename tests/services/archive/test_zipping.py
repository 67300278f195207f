"""Zips are written piece by piece: any reader takes them, large ones too, and memory does not grow."""

from __future__ import annotations

import io
import tracemalloc
import zipfile

import pytest

from steadyhead.services.archive.zipping import ZipStream

MOMENT = (2027, 4, 1, 8, 30, 12)
FILES = {
    "a.txt": b"alpha" * 900,
    "ü/b.pdf": bytes(range(256)) * 40,
    "empty": b"",
    "c.jsonl": b"{}\n" * 70_000,
}


def zipped(files: dict[str, bytes]) -> bytes:
    """Return files as a zip; those in pieces are handed over in pieces."""
    pieces: list[bytes] = []
    with ZipStream(MOMENT) as target:
        for name, content in files.items():
            chunks = [content[at : at + 1000] for at in range(0, len(content), 1000)]
            pieces += target.put(name, chunks, packed=not name.endswith(".pdf"))
        pieces += target.end()
    return b"".join(pieces)


def read(content: bytes) -> dict[str, bytes]:
    """Return the files of a zip as an independent reader finds them."""
    with zipfile.ZipFile(io.BytesIO(content)) as source:
        assert source.testzip() is None
        return {name: source.read(name) for name in source.namelist()}


def test_an_independent_reader_finds_every_file_as_it_was():
    content = zipped(FILES)
    assert read(content) == FILES
    with zipfile.ZipFile(io.BytesIO(content)) as source:
        one = source.getinfo("a.txt")
    assert one.date_time == MOMENT
    assert one.external_attr >> 16 == 0o100644
    assert one.flag_bits & 0x8 == 0  # sizes stand before the file


@pytest.mark.parametrize(("wide", "many"), [(100, 0xFFFF), (0xFFFFFFFF, 2), (5000, 3)])
def test_large_zips_are_read_too(wide, many, monkeypatch):
    """Sizes, places and numbers beyond their old limits; the limits are lowered to try it."""
    monkeypatch.setattr("steadyhead.services.archive.zipping.MANY", many)
    real = 0xFFFFFFFF
    if wide == real:
        content = zipped(FILES)
    else:
        content = _wide(monkeypatch, wide)
    assert read(content) == FILES


def _wide(monkeypatch: pytest.MonkeyPatch, wide: int) -> bytes:
    """Write with every size from `wide` on in its wide form, marked as the format marks it."""
    from steadyhead.services.archive import zipping

    class Wide(int):
        """A limit that is compared as `wide` and written as the format's mark."""

        def __le__(self, other: object) -> bool:
            return wide <= int(other)  # type: ignore[call-overload,no-any-return]

        def __index__(self) -> int:
            return 0xFFFFFFFF

    monkeypatch.setattr(zipping, "WIDE", Wide(0xFFFFFFFF))
    return zipped(FILES)


def test_memory_does_not_grow_with_the_number_of_files():
    tracemalloc.start()
    with ZipStream(MOMENT) as target:
        for at in range(6000):
            for _ in target.put(f"stations/S-{at}/revisions/0001.yaml", [b"x" * 200]):
                pass
            if at == 1000:
                tracemalloc.reset_peak()
                before = tracemalloc.get_traced_memory()[0]
        size = sum(len(piece) for piece in target.end())
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert size > 6000 * 60
    assert peak - before < 1_500_000
