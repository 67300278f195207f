"""Explicit time formats that read a sample of stamps exactly as the thorough path does."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import polars as pl

DATES = ("%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d", "%Y%m%d", "%d-%b-%Y", "%d %b %Y", "%b %d, %Y")
SHORT = {
    "dmy": ("%d.%m.%Y", "%d/%m/%Y", "%d-%m-%Y", "%d.%m.%y", "%d/%m/%y", "%d-%m-%y"),
    "mdy": ("%m/%d/%Y", "%m-%d-%Y", "%m.%d.%Y", "%m/%d/%y", "%m-%d-%y"),
    "ymd": ("%y-%m-%d", "%y/%m/%d", "%y.%m.%d"),
}
JOINTS = (" ", "T", "", ", ", "_", "-", "  ")
CLOCKS = (
    "%H:%M:%S", "%H:%M", "%H:%M:%S%.f", "%I:%M:%S %p", "%I:%M %p", "%I:%M:%S%p", "%I:%M%p", "%H.%M.%S",
    "%H%M%S", "%H%M", "%Hh%M",
)  # fmt: skip
ZONES = ("", "Z", "%z", " %z", " UTC")
MOST = 3


def formats_for(texts: Sequence[str], micros: Sequence[int], orders: Sequence[str]) -> tuple[str, ...]:
    """Return at most three formats that together read `texts` as `micros`, local time [µs]; () where none do.

    A text that no format reads (24:00) is left to the thorough path; more than a twentieth is too many.
    """
    left = [(text, micro) for text, micro in zip(texts, micros, strict=True) if text]
    if not left:
        return ()
    total = len(left)
    found: list[str] = []
    dates = (*(form for order in orders for form in SHORT.get(order, ())), *DATES)
    while left and len(found) < MOST:
        chosen = _first(*left[0], dates)
        read = None if chosen is None else _read([text for text, _ in left], chosen)
        if (
            chosen is None
            or read is None
            or any(a is not None and a != b for a, (_, b) in zip(read, left, strict=True))
        ):
            left = left[1:]
            if len(left) < 0.9 * total and not found:
                return ()
            continue
        found.append(chosen)
        left = [one for one, value in zip(left, read, strict=True) if value is None]
        if len(left) <= 0.02 * total:
            break
    return tuple(found) if len(left) <= 0.05 * total else ()


def _first(text: str, micro: int, dates: Sequence[str]) -> str | None:
    for date, joint, clock, zone in product(dates, JOINTS, CLOCKS, ZONES):
        form = f"{date}{joint}{clock}{zone}"
        if _fits(text, form) and _read([text], form)[0] == micro:
            return form
    return None


def _fits(text: str, form: str) -> bool:
    """Return whether a text has the marks of a format, before it is tried."""
    bare = form
    for mark in ("%b", "%p", "%z", "%.f", "%Y", "%m", "%d", "%H", "%M", "%S", "%I", "%y"):
        bare = bare.replace(mark, "")
    return all(text.count(one) >= bare.count(one) for one in set(bare)) and text.count(":") - bare.count(
        ":"
    ) in ((0, 1) if "%z" in form else (0,))


def _read(texts: Sequence[str], form: str) -> list[int | None]:
    return (
        pl.Series(texts)
        .to_frame("x")
        .select(parse(pl.col("x"), (form,)))
        .to_series()
        .dt.epoch("us")
        .to_list()
    )


_WORDS = {
    "%Y": "yyyy", "%y": "yy", "%m": "mm", "%d": "dd", "%b": "mmm", "%H": "hh", "%I": "hh", "%M": "mm",
    "%S": "ss", "%.f": ".sss", "%p": "AM/PM", "%z": "+hh:mm",
}  # fmt: skip


def in_words(form: str) -> str:
    """Return a format as people write it.

    Examples
    --------
    >>> in_words("%Y-%m-%d %H:%M:%S"), in_words("%d.%m.%y %I:%M %p")
    ('yyyy-mm-dd hh:mm:ss', 'dd.mm.yy hh:mm AM/PM')
    """
    for mark, word in _WORDS.items():
        form = form.replace(mark, word)
    return form


def parse(text: pl.Expr, forms: Sequence[str], *, repeats: bool = True) -> pl.Expr:
    """Return the expression that reads stamps as wall-clock times; with an offset in them, as UTC.

    repeats: stamps come more than once, so that remembering those that were read pays.
    """
    tried = [
        text.str.to_datetime(
            one, strict=False, time_unit="us", time_zone="UTC", ambiguous="null", cache=repeats
        ).dt.replace_time_zone(None)
        if "%z" in one
        else text.str.to_datetime(one, strict=False, time_unit="us", cache=repeats)
        for one in forms
    ]
    return tried[0] if len(tried) == 1 else pl.coalesce(tried)
