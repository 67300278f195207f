"""Numbers in cells: decimal mark, thousands, missing marks, marks stuck to a number."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import datetime
from math import isfinite
from statistics import median

from steadyhead.watch.reading.symbols import Symbol, symbol

Cell = str | float | datetime
"""Of a text file always text; spreadsheets, JSON and Parquet also give numbers and dates. "": empty."""

UNRECKONED = "formula"
"""Stands in a cell whose formula the file keeps no result of."""
MISSING = {
    UNRECKONED,
    "", "-", "--", "---", "----", "–", "—", "nan", "#n/a", "n/a", "na", "#nv", "null", "none", "nil", "err",
    "error", "err.", "#value!", "#wert!", "#valeur!", "#div/0!", "#num!", "#ref!", "inf", "-inf", "ovr",
    "over", "ol", "?", "??", "???", ".", "*", "**", "***", "****", "x", "missing", "fehlt", "fehler",
    "no data", "nodata", "bad", "invalid", "ungültig", "s/d", "n.d.", "nd", "n.v.", "k.a.", "#", "####",
    "#####", "erreur", "k. a.", "fail", "fault", "defekt", "und", "undef", "overrange", "underrange",
    "open circuit", "kein wert", "sin dato", "geen", "<null>", "(null)", "\\n", "1.#qnan", "1.#inf",
    "#error", "---.-", "--.--", "-.-", "--,--",
}  # fmt: skip
SENTINELS = {
    9999.0, -9999.0, 99999.0, -99999.0, 999.0, -999.0, 999.9, -999.9, 9999.9, -9999.9, 999.99, -999.99,
    -99.99, -99.9, 999999.0, -999999.0, 6999.0, 7999.0, 32767.0, -32768.0, 65535.0, 32768.0,
    9999.99, -99.0, -9.99, -9.0, -1.0e30, 1.0e30, 99999.9, -99999.9, 9999.999, 999.999, -999.999, 8888.0,
    -8888.0, 1e10, -99.999, -9999.999, -1.0, 327.67, -327.68, 3276.7, -3276.8, 655.35, 6553.5,
}  # fmt: skip
_BLANKS = re.compile(r"(?<=\d)[ \u00a0\u2009\u202f'\u2019](?=\d{3}(?:\D|$))")
_COMMA = re.compile(r"[+-]?\d*,\d+(?:[eE][+-]?\d+)?$")
_DOT = re.compile(r"[+-]?\d*\.\d+(?:[eE][+-]?\d+)?$")
_GROUPED_COMMA = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d+)?$")
_LAKHS = re.compile(r"[+-]?\d{1,2}(?:,\d{2})+,\d{3}(?:\.\d+)?$")
"""Groups of two digits ahead of the last three, as in India: ``1,88,215.4``."""
_BELOW = re.compile(r"\(\s*([\d.,'\u00a0\u202f ]*\d)\s*\)$")
"""A number below zero in brackets, as accounts write it."""
_GROUPED_DOT = re.compile(r"[+-]?\d{1,3}(?:\.\d{3})+(?:,\d+)?$")
_MARKED = re.compile(
    r"^([<>~*!?#]*)\s*([+-]?[\d.,' \u00a0]*\d[\d.,]*(?:[eE][+-]?\d+)?)\s*([*!?#+]{1,3}|[A-Za-z]{1,2})?$"
)


def vote(cells: Iterable[Cell]) -> str:
    """Return ``,`` or ``.`` where the cells leave no other reading as decimal mark, "" where they do.

    Examples
    --------
    >>> vote(["10,403", "71,42"]), vote(["1.234,5"]), vote(["9,832"]), vote(["0,832"])
    (',', ',', '', ',')
    """
    votes: Counter[str] = Counter()
    for cell in cells:
        if isinstance(cell, str) and cell:
            votes[_vote_of(cell)] += 1
    if votes[","] and votes[","] >= votes["."]:
        return ","
    return "." if votes["."] else ""


def _vote_of(text: str) -> str:
    text = _BLANKS.sub("", text.strip().rstrip("*!? "))
    commas, dots = text.count(","), text.count(".")
    if commas > 1 and _LAKHS.match(text):
        return "."
    if commas and dots:
        whole = _GROUPED_DOT if text.rfind(",") > text.rfind(".") else _GROUPED_COMMA
        if not whole.match(text):
            return ""
        return "," if whole is _GROUPED_DOT else "."
    if commas == 1 and _COMMA.match(text):
        head, tail = text.split(",")
        return "" if len(tail) == 3 and 1 <= len(head.lstrip("+-")) <= 3 and head.lstrip("+-") != "0" else ","
    if dots == 1 and _DOT.match(text):
        head, tail = text.split(".")
        return "" if len(tail) == 3 and 1 <= len(head.lstrip("+-")) <= 3 and head.lstrip("+-") != "0" else "."
    return ""


def number(cell: Cell, decimal: str) -> float | None:
    """Return the number a cell states, or None where it is none.

    Examples
    --------
    >>> number("1 234,5", ","), number("1.234,5", ","), number("1,234.5", "."), number("door open", ".")
    (1234.5, 1234.5, 1234.5, None)
    """
    if isinstance(cell, float):
        return cell if isfinite(cell) else None
    if not isinstance(cell, str) or not cell:
        return None
    text = cell
    if text[0] == "(" and (below := _BELOW.match(text)) is not None:
        value = number(below.group(1), decimal)
        return None if value is None else -value
    if decimal == ",":
        if "," in text or "." in text:
            if "." in text and "," not in text and not _GROUPED_DOT.match(text):
                return _float(text)
            text = text.replace(".", "").replace(",", ".")
    elif "," in text:
        bare = _BLANKS.sub("", text.strip())
        if not _GROUPED_COMMA.match(bare) and not _LAKHS.match(bare):
            return None
        text = text.replace(",", "")
    return _float(text)


def _float(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        loose = _BLANKS.sub("", text.strip()).replace("−", "-")
        if loose.endswith("-") and loose[:1].isdigit():  # as business systems write what is below zero
            loose = f"-{loose[:-1]}"
        if loose == text or "_" in loose:
            return None
        try:
            value = float(loose)
        except ValueError:
            return None
    return value if isfinite(value) and "_" not in text else None


def marked(cell: Cell, decimal: str) -> tuple[float, str] | None:
    """Return number and mark of a cell such as ``4.05*`` or ``4.05 E``; None for anything else."""
    if not isinstance(cell, str):
        return None
    found = _MARKED.match(cell.strip())
    if found is None or not (found.group(1) or found.group(3)):
        return None
    value = number(found.group(2).strip(), decimal)
    return None if value is None else (value, found.group(1) + (found.group(3) or ""))


_WITH_UNIT = re.compile(r"^([+-]?[\d.,]*\d)\s*([^\d\s.,+-][^\s]{0,9}(?: [^\d\s]{1,6})?)$")


def with_unit(cell: Cell, decimal: str) -> tuple[float, Symbol] | None:
    """Return number and unit of a cell such as ``4.05 bar``; None for anything else."""
    found = _WITH_UNIT.match(cell.strip()) if isinstance(cell, str) and cell else None
    unit = symbol("bar" if found.group(2) == "b" else found.group(2)) if found else None
    if found is None or unit is None:
        return None
    value = number(found.group(1), decimal)
    value = number(found.group(1), ".") if value is None else value
    return None if value is None else (value, unit)


def is_missing(cell: Cell) -> bool:
    """Return whether a cell holds a mark for *no value*, or nothing."""
    if isinstance(cell, str):
        return cell.strip().casefold() in MISSING or (bool(cell) and set(cell.strip()) <= set("-–—.,_ "))
    return isinstance(cell, float) and not isfinite(cell)


_FAILED = re.compile(
    r"(err|fail|ov(r|er)?(l|f|range)?\b|und(er)?\b|inv|bad|n/?a\b|fehl|fault|def(ekt|aut)|#)", re.IGNORECASE
)


def says_failed(text: str) -> bool:
    """Return whether a short word in place of a number says that there is none: ``Err 12``, ``FAULT``."""
    return len(text) <= 10 and _FAILED.match(text.strip()) is not None


APART, NEIGHBOURS = 0.25, 0.5
"""A run of nines this far above the highest reading, and above each of its neighbours, is a mark: parts of
the column's range. Own estimates."""


def sentinels(values: Sequence[float | None], counts_up: bool) -> set[float]:
    """Return the numbers of a column that stand for *no value*: a run of nines far off from all the rest.

    Parameters
    ----------
    values
        The column as stated.
    counts_up
        A counter: a number that fits between its neighbours is a reading.
    """
    found = {one for one in values if one is not None and _like_sentinel(one)}
    if not found:
        return set()
    rest = [one for one in values if one is not None and one not in found]
    if len(rest) < 3:
        return {one for one in found if abs(one) >= 999} if rest else set()
    low, high, mid = min(rest), max(rest), median(rest)
    wide = max(high - low, abs(mid) * 0.2, 1e-9)
    out = {one for one in found if one > high + 2 * wide or one < low - max(0.5 * wide, 0.5)}
    if counts_up:
        out = {one for one in out if not low <= one <= high * 1.2}
    else:
        out |= {one for one in found if one > high + APART * wide and _alone(values, one, wide)}
    few = low >= 1.0 and 4 * sum(one == -1.0 for one in values) <= len(rest)
    small = {-9.0, -9.99, -1.0} if few else {-9.0, -9.99}
    return {one for one in out if abs(one) > 50 or (low >= 0 and one in small)}


def _alone(values: Sequence[float | None], mark: float, wide: float) -> bool:
    """Return whether a number stands far above its neighbours wherever it comes: none leads up to it."""
    known = [one for one in values if one is not None]
    at = [k for k, one in enumerate(known) if one == mark]
    sides = [known[k + d] for k in at for d in (-1, 1) if 0 <= k + d < len(known) and known[k + d] != mark]
    return bool(sides) and all(mark - one > NEIGHBOURS * wide for one in sides)


def _like_sentinel(value: float) -> bool:
    return value in SENTINELS or ((value >= 999 or value <= -99) and set(f"{abs(value):g}") <= {"9", "."})
