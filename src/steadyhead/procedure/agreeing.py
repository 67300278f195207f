"""Two devices that answer one input: whether they differ, whether it matters, and whether it was settled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.record import SOFT, Row
from steadyhead.records.procedure import Input

TOGETHER = 300.0
"""Readings of two devices within this time are of one moment; own estimate: a tap takes minutes. [s]"""
Band = Mapping[str, float | None]


@dataclass(frozen=True, slots=True)
class Differs:
    """Two answers that do not agree.

    apart: they lead to different verdicts. later: they are not of one moment; the newer one does not take
    the older one away unless that is settled.
    """

    input: str
    old: Row
    new: Row
    apart: bool
    later: bool = False


def inside(value: float, band: Band) -> bool:
    """Return whether a value lies within a band."""
    low, high = band["low"], band["high"]
    return (low is None or value >= low) and (high is None or value <= high)


def differing(one: Input, rows: Sequence[Row], band: Band | None) -> Differs | None:
    """Return the newest answer and the last one of another device where they differ; None where none does.

    Parameters
    ----------
    one
        The input.
    rows
        Its answers in the order of judging.
    band
        What is expected of it; None: nothing.
    """
    if len(rows) < 2 or one.quantity in SOFT:
        return None
    new = rows[-1]
    seen = {new.entry.device}
    for old in reversed(rows[:-1]):
        if old.entry.device in seen:
            continue
        seen.add(old.entry.device)
        found = _pair(one, old, new, band) if old.text("as") == new.text("as") else None
        if found is not None:
            return found
    return None


def _pair(one: Input, old: Row, new: Row, band: Band | None) -> Differs | None:
    within = TOGETHER + old.entry.clock_within + new.entry.clock_within
    later = new.time - old.time > within
    a, b = old.entry.payload["value"], new.entry.payload["value"]
    if not (is_number(a) and is_number(b)):
        matters = a != b and not (later and one.quantity != "yes_no")
        return Differs(one.name, old, new, True, later) if matters else None
    if abs(a - b) <= one.stable_within:
        return None
    apart = band is not None and inside(a, band) != inside(b, band)
    return Differs(one.name, old, new, apart, later) if apart or not later else None


def is_settled(differs: Differs, rows: Sequence[Row], base: int, asked: int) -> bool:
    """Return whether it is settled which of two answers counts.

    Somebody wrote at the step what was found; or, where they are not of one moment, the whole step was gone
    through again after the older answer.

    Parameters
    ----------
    differs
        The two answers.
    rows
        Everything entered at the step.
    base, asked
        Place of the oldest answer that counts, and how many are asked for.
    """
    noted = any(row.at > differs.new.at and row.entry.kind in ("note", "deviation") for row in rows)
    return noted or (differs.later and asked > 1 and base > differs.old.at)
