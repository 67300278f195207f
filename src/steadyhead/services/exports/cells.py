"""Cells of a CSV file: no table program takes one for a formula, and a number stays a number."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

MARK = b"\xef\xbb\xbf"
"""Says to table programs that the text is UTF-8."""
STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What a formula begins with, in narrow and in wide letters."""
_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?([eE][+-]?\d+)?")


def harmless(value: Any) -> Any:
    """Return a cell that no table program takes for a formula; numbers, also typed ones, as they are.

    Examples
    --------
    >>> harmless("=1+1"), harmless("-3.5"), harmless(-3.5), harmless("-3.5+cmd"), harmless("  @x")
    ("'=1+1", '-3.5', -3.5, "'-3.5+cmd", "'  @x")
    """
    if value is None:
        return ""
    if isinstance(value, str) and value.startswith(("'", " ", *STARTS)):
        inner = value.lstrip(" '")
        if inner.startswith(STARTS) and not _NUMBER.fullmatch(value):
            return f"'{value}"
    return value


def lines(names: Sequence[str], rows: Iterable[Mapping[str, Any]], *, mark: bool = False) -> Iterator[bytes]:
    """Yield a CSV file, some rows at a time: UTF-8, commas, one head line; every text in quotes.

    mark: whether it begins with a byte order mark, by which older table programs know UTF-8.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n", quoting=csv.QUOTE_NONNUMERIC)
    table.writerow(names)
    if mark:
        yield MARK
    for at, row in enumerate(rows):
        table.writerow([harmless(row[name]) for name in names])
        if at % 200 == 199:
            yield _emptied(out)
    yield _emptied(out)


def _emptied(out: io.StringIO) -> bytes:
    text = out.getvalue()
    out.seek(0)
    out.truncate()
    return text.encode("utf-8", "replace")
