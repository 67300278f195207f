"""Long files in two-byte letters, Parquet, JSON lines or columns without separator as plain text, block by
block, to be read lazily.
"""

from __future__ import annotations

import codecs
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import polars as pl

from steadyhead.records.logger import ReadFiles, Reading
from steadyhead.watch.reading.flat import columns_as_text, json_as_text
from steadyhead.watch.reading.telling import how

BLOCK = 1 << 22
MARKS = {codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}


@contextmanager
def narrowed(path: Path, into: Path) -> Iterator[tuple[Path, str]]:
    """Yield a file of the same name as text in UTF-8 and what it was: ``utf-16``, ``parquet``,
    ``json lines``, ``columns`` with encoding and borders.

    The file itself and "" for any other, and for one that cannot be written as text.

    The copy lies in the folder `into` and is gone behind the block.
    """
    with path.open("rb") as source:
        head = source.read(4)
    encoding = "parquet" if head == b"PAR1" else MARKS.get(head[:2], "")
    folder = into / "narrowed"
    folder.mkdir(exist_ok=True)
    copy = folder / path.name
    try:
        if not encoding:
            yield _flat(path, copy)
        elif encoding != "parquet":
            _written(path, copy, encoding)
            yield copy, "utf-16"
        elif _as_text(path, copy):
            yield copy, encoding
        else:
            yield path, ""
    finally:
        copy.unlink(missing_ok=True)
        folder.rmdir()


def _flat(path: Path, copy: Path) -> tuple[Path, str]:
    if json_as_text(path, copy):
        return copy, "json lines"
    if (told := columns_as_text(path, copy)) is not None:
        return copy, f"columns {told[0]} {','.join(map(str, told[1]))}"
    return path, ""


def _as_text(path: Path, copy: Path) -> bool:
    """Write a Parquet file as text, times in ISO 8601 (UTC with a Z where they have a zone)."""
    try:
        frame = pl.scan_parquet(path)
        out = []
        for name, kind in frame.collect_schema().items():
            one = pl.col(name)
            if isinstance(kind, pl.Datetime):
                one = one.dt.convert_time_zone("UTC") if kind.time_zone else one
                whole = frame.select((one.dt.microsecond() == 0).all()).collect(engine="streaming").item()
                form = "%Y-%m-%dT%H:%M:%S" + ("" if whole else "%.3f") + ("Z" if kind.time_zone else "")
                one = one.dt.to_string(form)
            elif kind.is_nested() or kind.is_temporal() or kind == pl.Binary:
                return False
            out.append(one)
        frame.select(out).sink_csv(copy)
    except (pl.exceptions.PolarsError, OSError):
        return False
    return True


def _written(path: Path, copy: Path, encoding: str) -> None:
    decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
    with path.open("rb") as source, copy.open("wb") as out:
        source.seek(2)
        while block := source.read(BLOCK):
            out.write(decoder.decode(block).encode("utf-8"))
        out.write(decoder.decode(b"", final=True).encode("utf-8"))


def as_given(found: ReadFiles, name: str, kind: str) -> ReadFiles:
    """Return what was read of a copy as text, told as of the file itself: `kind` as `narrowed` gives it."""
    first, *rest = found.words
    if kind.startswith("columns "):
        encoding, borders = kind.split(" ")[1:]
        widths = tuple(int(one) for one in borders.split(",") if one)
        readings = tuple(
            replace(one, encoding=encoding, delimiter="", widths=widths) if one is not None else None
            for one in found.readings
        )
        return replace(found, readings=readings, words=(*_told(name, readings), *rest))
    if kind == "utf-16":
        readings = tuple(replace(one, encoding=kind) if one is not None else None for one in found.readings)
        return replace(found, readings=readings, words=(first.replace("utf-8", kind, 1), *rest))
    readings = tuple(
        replace(one, container=kind, delimiter="", header_rows=0) if one is not None else None
        for one in found.readings
    )
    channels = tuple((channel, frame.with_columns(pl.col("row") - 1)) for channel, frame in found.channels)
    left = {reason: n - (reason == "header") for reason, n in found.rows_left_out.items()}
    return replace(
        found, readings=readings, channels=channels, words=(*_told(name, readings), *rest),
        rows_total=found.rows_total - 1, rows_left_out={reason: n for reason, n in left.items() if n},
    )  # fmt: skip  # the heading of the copy is no row of the file


def _told(name: str, readings: Sequence[Reading | None]) -> list[str]:
    return [f"{name}: {how(one)}" for one in readings if one is not None]
