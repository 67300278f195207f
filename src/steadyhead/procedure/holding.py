"""Valves that stand as they are to stand all through a step: shut, or no further open than a drain holds.

A raise during which consumers were connected does not count, whatever is proved afterwards (design handbook
3.1 V1, 3.3); nor does one with the inlet valve beyond its V2 opening, or a lock-up with water let off in it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.naming import LOWER, in_order, stands_open, stands_shut
from steadyhead.procedure.placing import said
from steadyhead.procedure.record import Record, Row
from steadyhead.procedure.steps import Step
from steadyhead.procedure.touching import STANDS, valves
from steadyhead.records.minding import Hold, Opening
from steadyhead.records.run import Remark

BEGINS = ("reading", "observation", "action", "choice")
"""Kinds of entry by which a step is gone through."""
SIZES = {
    "turn": 1.0,
    "turns": 1.0,
    "": 1.0,
    "°": 1 / 360,
    "deg": 1 / 360,
    "degree": 1 / 360,
    "degrees": 1 / 360,
}
"""Units in which it is said how far a valve was opened. [turn]"""
SHARES = {"%": 0.01, "percent": 0.01}
"""Units of a share of full opening."""
AMOUNT = re.compile("([0-9]+(?:[.,][0-9]+)?) *([a-z%°]*)")
LARGER, SLACK = 1.05, 0.125
"""How much further a counted opening may lie: a share of it, and half a quarter turn; own estimate. [turn]"""
SLACK_SHARE = 0.01
"""The same of a share of full opening."""
WIDE = (
    "open",
    "opened",
    "opens",
    "opening",
    "fully",
    "full",
    "wide",
    "normal",
    "service",
    "restored",
    "back",
)
"""Words that say that an inlet valve stands open, no measure given."""
NARROW = (
    "v2", "crack", "cracked", "part", "partly", "partially", "throttled", "throttle", "trickle", "little",
    "planned",
)  # fmt: skip
"""Words beside these by which it stands only a little open, or as planned."""
TURNED = ("nearly", "almost", "not")
"""Words that turn a statement round: what they say is not known."""


def broken(
    record: Record, steps: Mapping[str, Step]
) -> tuple[dict[str, tuple[Remark, ...]], dict[str, tuple[Remark, ...]]]:
    """Return what stood otherwise than it is to stand, by step: what refuses it, and what makes it stale.

    A proof of a step is stale where a valve was moved inside it. A step that proves nothing, or how something
    was found, is refused; so is one gone through with an inlet valve too far open.
    """
    refusing: dict[str, list[Remark]] = {}
    moved: dict[str, list[Remark]] = {}
    keeps = set(record.procedure.minding.keeps)
    for hold in record.procedure.minding.holds:
        step = steps.get(hold.step)
        row = _inside(record, step, hold, steps) if step is not None and step.way == "on" else None
        if step is None or row is None:
            continue
        stale = step.node.proves and not hold.since and not keeps & set(step.node.proves)
        told = moved if stale else refusing
        told.setdefault(hold.step, []).append(_remark(record, hold.step, row, "shut"))
    for one in record.procedure.minding.openings:
        seen = _seen(record, steps, one)
        for name in one.asks:
            step = steps.get(name)
            far = _too_far(step, seen) if step is not None and step.way == "on" else None
            if far is not None:
                refusing.setdefault(name, []).append(_remark(record, name, far, called(one), part=one.part))
    return _each(refusing), _each(moved)


def _each(found: Mapping[str, list[Remark]]) -> dict[str, tuple[Remark, ...]]:
    """Return the remarks of each step, one of each part."""
    return {
        name: tuple({str(one.params["part"]): one for one in remarks}.values())
        for name, remarks in found.items()
    }


def _remark(record: Record, step: str, row: Row, asked: str, *, part: str = "") -> Remark:
    how = _said(record, row) if not part or row.thing == part else "open"
    return Remark("RUN-48", step, (row.entry.id,), {"part": part or row.thing, "is": how, "asked": asked})


def called(one: Opening) -> str:
    """Return how far an inlet valve is to stand open, in words."""
    if one.turns is not None:
        return f"at its V2 opening, {one.turns:g} turns"
    return "at its V2 opening"


def too_far_now(record: Record, steps: Mapping[str, Step], name: str) -> tuple[str, ...]:
    """Return the inlet valves too far open for a step if it were begun now, and how they should stand."""
    found = []
    for one in record.procedure.minding.openings:
        last = [far for _, far, _ in _seen(record, steps, one) if far is not None]
        if name in one.asks and last and last[-1]:
            found.append(f"{one.part} {called(one)}")
    return tuple(found)


def unread(record: Record) -> list[Remark]:
    """Return the newest position of each such valve of which nobody can tell how it stands."""
    minding = record.procedure.minding
    shut = {one.part for one in minding.holds} | {part for one in minding.shields for part in one.moved}
    inlet = {one.part: one for one in minding.openings}
    newest: dict[str, Row | None] = {}
    for row in record.rows:
        if row.thing not in (*shut, *inlet) or row.entry.kind not in ("position", "action"):
            continue
        text = row.text("is")
        opening = inlet.get(row.thing)
        plain = stands_shut(text) or stands_open(text)
        if row.entry.kind == "action":
            newest |= {row.thing: None} if row.do in STANDS else {}
        elif (
            plain
            or (opening is not None and _read(text, opening) is not None)
            or row.thing in _left(record, text)
        ):
            newest[row.thing] = None
        else:
            newest[row.thing] = row
    return [
        Remark("RUN-49", thing, (row.entry.id,), {"is": row.text("is")})
        for thing, row in sorted(newest.items())
        if row is not None
    ]


def _left(record: Record, text: str) -> set[str]:
    """Return the things of which these words say that they stand as they are left."""
    return {one.thing for one in record.procedure.minding.left if text in one.words}


def _said(record: Record, row: Row) -> str:
    left = frozenset(one.thing for one in record.procedure.minding.left)
    return said(row, left, valves(record.procedure))


def _inside(record: Record, step: Step, hold: Hold, steps: Mapping[str, Step]) -> Row | None:
    """Return by what a valve that is to stand shut all through a step did not; None where it did."""
    first = _place(step, hold.first, newest=False)
    if hold.since:
        giving = steps.get(hold.since[0])
        pick = giving.chosen.get(hold.since[1]) if giving is not None else None
        first = pick.newest if pick is not None else first
    last = _place(step, hold.last, newest=True)
    if first is None or last is None:
        return None
    told = [(row, _said(record, row)) for row in record.rows[first + 1 : last] if row.thing == hold.part]
    told = [(row, how) for row, how in told if how]
    if hold.ends:
        told = told[-1:]
    return next((row for row, how in told if not _is_shut(row, how)), None)


def _place(step: Step, name: str, *, newest: bool) -> int | None:
    """Return where the reading of an input stands; without a name, the newest or oldest of the step."""
    if name:
        pick = step.chosen.get(name)
        return None if pick is None else pick.newest if newest else pick.oldest
    place = step.latest if newest else step.base
    return place if place >= 0 else None


def _is_shut(row: Row, how: str) -> bool:
    return stands_shut(how) if row.entry.kind == "position" else how == "shut"


Seen = tuple[float, bool | None, Row]


def _seen(record: Record, steps: Mapping[str, Step], one: Opening) -> list[Seen]:
    """Return where an inlet valve was said, or brought by a step, to stand too far open or not, in order."""
    found: list[Seen] = []
    for row in record.rows:
        if row.thing == one.part and row.entry.kind in ("position", "action"):
            far = _far(row, one)
            if far is not None:
                found.append((float(row.at), far, row))
    for names, far in ((one.brings, False), (one.opens, not one.full)):
        for name in names:
            step = steps.get(name)
            if step is not None and step.way == "on" and step.latest >= 0 and not step.lacks:
                found.append((step.latest + 0.5, far, record.rows[step.latest]))
    return sorted(found, key=lambda each: each[0])


def _far(row: Row, one: Opening) -> bool | None:
    """Return whether an act or a position leaves the valve too far open; None where it says nothing of it."""
    if row.entry.kind == "position":
        return _read(row.text("is"), one)
    if row.do not in STANDS:
        return None
    if row.do != "open":
        return False
    amount, unit = row.entry.payload.get("amount"), row.text("unit").translate(LOWER).strip()
    far = _beyond(float(amount), unit, one) if is_number(amount) else None
    if far is None:
        far = _read(row.text("detail"), one)
    if far is None and row.entry.node in (*one.brings, *one.opens):
        return None
    return not one.full if far is None else far


def _beyond(amount: float, unit: str, one: Opening) -> bool | None:
    """Return whether a measure lies beyond the opening; None where it cannot be told."""
    if unit in SHARES:
        return None if one.share is None else amount * SHARES[unit] > one.share * LARGER + SLACK_SHARE
    if unit not in SIZES or one.turns is None:
        return None
    return amount * SIZES[unit] > one.turns * LARGER + SLACK


def _read(text: str, one: Opening) -> bool | None:
    """Return whether words say that the valve stands further open than it may; None: they do not tell."""
    if stands_shut(text):
        return False
    words = in_order(text)
    bare = all(word in WIDE or word.isdigit() for word in words)
    for amount, unit in AMOUNT.findall(re.sub("v2", "", text.translate(LOWER))):
        if unit or bare:
            far = _beyond(float(amount.replace(",", ".")), unit, one)
            if far is not None:
                return far
    if set(words) & set(NARROW):
        return False
    return not one.full if set(words) & set(WIDE) and not set(words) & set(TURNED) else None


def _too_far(step: Step, seen: list[Seen]) -> Row | None:
    """Return by what the valve stood too far open as a step was begun, or in it; None where it did not."""
    rows = [row for row in step.rows if row.entry.kind in BEGINS]
    if not rows:
        return None
    begin = step.base if step.base >= 0 else rows[0].at
    end = step.latest if step.latest >= 0 else rows[-1].at
    before = [(far, row) for at, far, row in seen if at < begin]
    if before and before[-1][0]:
        return before[-1][1]
    return next((row for at, far, row in seen if begin <= at <= end and far), None)
