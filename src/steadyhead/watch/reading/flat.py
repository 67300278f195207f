"""Long files of odd shapes as plain text with one separator, line by line, to be read lazily."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from itertools import islice
from pathlib import Path

from steadyhead.errors import InputError
from steadyhead.watch.reading.books import _cell, _flattened, is_book
from steadyhead.watch.reading.nested import has_lists, has_units
from steadyhead.watch.reading.sampling import samples_of
from steadyhead.watch.reading.sources import splitter, text_grid

MOST_BYTES, MOST_LINES = 40_000_000, 400_000
"""Largest files, and most lines, that are read as a whole: with them memory stays below 1 GB, reckoned from
200,000 rows. Own estimate."""
LOOKED_AT = 5000
"""Lines of JSON whose names become columns; one that comes later makes the file one to be read as a whole."""
BLOCK = 1 << 22


def json_as_text(path: Path, copy: Path) -> bool:
    """Write JSON lines as text with a heading; False where they are none, or not alike."""
    with path.open("rb") as source:
        if source.read(64).lstrip(b"\xef\xbb\xbf \r\n\t")[:1] != b"{":
            return False
    keys: dict[str, None] = {}
    with path.open(encoding="utf-8-sig", errors="replace") as source:
        for line in islice(source, LOOKED_AT):
            keys |= dict.fromkeys(_named(line) or {})
    with path.open(encoding="utf-8-sig", errors="replace") as source, copy.open("w", encoding="utf-8") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(list(keys))
        good = bad = 0
        for line in source:
            told = _named(line) if line.strip() else {}
            if told is None:
                bad += 1
                out.write(line.replace(",", " ").replace('"', " ").strip() + "\n")
            elif not told:
                out.write("\n")
            elif not told.keys() <= keys.keys():
                return False
            else:
                good += 1
                writer.writerow([_cell(told.get(key)) for key in keys])
    return good > 10 * bad


def _named(line: str) -> dict[str, object] | None:
    """Return the values of a line by their names; None: it is no object."""
    try:
        found = json.loads(line.strip().rstrip(","), parse_float=str, parse_int=str)
    except (ValueError, RecursionError):
        return None
    if has_lists([found]):
        return None  # read as a whole, where lists of samples are unrolled
    flat = dict(_flattened(found)) if isinstance(found, dict) else None
    return None if flat is None or has_units(flat) else flat


def columns_as_text(path: Path, copy: Path) -> tuple[str, tuple[int, ...]] | None:
    """Write columns parted by blanks or by their places as text with one separator.

    Returns the encoding and the borders of the columns; None where something else parts them.
    """
    sample = samples_of(path)
    if sample[:1] in (b"{", b"[") or is_book(sample):
        return None
    grid = text_grid(sample)
    if grid.delimiter or grid.rewritten or grid.encoding.startswith("utf-16"):
        return None
    split = splitter("", grid.widths)
    with (
        path.open(encoding=grid.encoding, errors="replace") as source,
        copy.open("w", encoding="utf-8") as out,
    ):
        writer = csv.writer(out, delimiter=";", lineterminator="\n")
        for line in source:
            cells = split(line.rstrip("\r\n"))
            if any(cells):
                writer.writerow(cells)
            else:
                out.write("\n")
    return grid.encoding, grid.widths


def is_too_much(files: Sequence[Path]) -> bool:
    """Return whether files are more than what is read as a whole."""
    return _size(files) > MOST_BYTES or _lines(files) > MOST_LINES


def refuse_too_much(files: Sequence[Path]) -> None:
    """Refuse files that would have to be read as a whole and are too large for that.

    Raises
    ------
    InputError
        They are.
    """
    if is_too_much(files):
        names = ", ".join(one.name for one in files)
        told = f"{_size(files) / 1e6:.0f} MB, {_lines(files)} lines"
        raise InputError(
            "files",
            f"are {told}, of a shape that is read as a whole ({names[:200]}); that goes up to "
            f"{MOST_BYTES / 1e6:.0f} MB and {MOST_LINES} lines.",
            "Read them in pieces, one after the other, or have them written as text with one separator.",
        )


def _size(files: Sequence[Path]) -> int:
    return sum(one.stat().st_size for one in files)


def _lines(files: Sequence[Path]) -> int:
    count = 0
    for one in files:
        with one.open("rb") as source:
            while block := source.read(BLOCK):
                count += block.count(b"\n")
    return count
