"""Two devices that answer one input: whether they differ, whether it matters, and whether it was settled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

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

    Of its own device so too an answer that sorts before it and has a later number: the clock was set back.

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
    young = _numbered_later(rows)
    if young is not None and (found := _pair(one, young, new, band, parted=True)) is not None:
        return replace(found, later=False)
    seen = {new.entry.device}
    for old in reversed(rows[:-1]):
        if old.entry.device in seen:
            continue
        seen.add(old.entry.device)
        found = _pair(one, old, new, band) if old.text("as") == new.text("as") else None
        if found is not None:
            return found
    return None


def _numbered_later(rows: Sequence[Row]) -> Row | None:
    """Return the answer by which the newest one's device came after it, by its own numbers; None for none."""
    new = rows[-1].entry
    own = [row for row in rows if row.entry.device == new.device and not row.entry.by_hand]
    young = max(own, key=lambda row: row.entry.device_seq, default=rows[-1])
    is_later = not new.by_hand and young.entry.device_seq > new.device_seq
    return young if is_later and young.text("as") == rows[-1].text("as") else None


def _pair(one: Input, old: Row, new: Row, band: Band | None, *, parted: bool = False) -> Differs | None:
    """Return two answers where they differ. parted: they are not of one moment, whatever the clocks say."""
    within = TOGETHER + old.entry.clock_within + new.entry.clock_within
    later = parted or new.time - old.time > within
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
    noted = any(_is_after(row, differs) and row.entry.kind in ("note", "deviation") for row in rows)
    return noted or (differs.later and asked > 1 and base > differs.old.at)


def _is_after(row: Row, differs: Differs) -> bool:
    """Return whether an entry came after both answers; those of one device are told by its own numbers."""
    old, new = differs.old.entry, differs.new.entry
    if old.device == new.device == row.entry.device:
        return row.entry.device_seq > max(old.device_seq, new.device_seq)
    return row.at > differs.new.at
