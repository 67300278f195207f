"""Valves that stand as they are to stand all through a step: shut, or no further open than a drain holds.

A raise during which consumers were connected does not count, whatever is proved afterwards (design handbook
3.1 V1, 3.3); nor does one with the inlet valve beyond its V2 opening, or a lock-up with water let off in it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from steadyhead.procedure.clocks import Doubt, doubts, may_follow
from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.naming import LOWER, SHUT, folded, in_order, stands_open, stands_shut, was_opened
from steadyhead.procedure.placing import said
from steadyhead.procedure.record import Record, Row
from steadyhead.procedure.steps import Step
from steadyhead.procedure.touching import STANDS, valves
from steadyhead.records.entry import Entry
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
MOVED = ("turn", "set", "adjust", "stroke by hand", "remove", "refit", "replace")
"""Acts after which nobody knows how far an inlet valve stands open, unless they say it."""
WHOLE = MOVED[3:]
"""Those of them that name the very valve: a tag of it is removed too."""
RUNS = ("flush", "fill", "vent", "draw water")
"""Acts by which water is run through a valve, and nobody says how far it was opened."""
LETS_OFF = ("sample", "bleed")
"""Acts by which a little water is let off, and a valve stands as it stood."""
TURNED = ("nearly", "almost", "not")
"""Words that turn a statement round: what they say is not known."""
FAR = ("fully", "full", "wide", "nearly", "almost")
"""Words beside these by which it stands open all the same, nobody knows how far: *not fully open*."""
NUMBERS = {
    "one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8",
    "nine": "9", "ten": "10", "eleven": "11", "twelve": "12",
}  # fmt: skip
"""Whole numbers in words."""
AGREE = 15.0
"""Clocks known so well together tell the order of two entries as they show it; own estimate. [s]"""
UNTOLD = "before, in or after it: the clocks do not tell"
"""What is said of a valve moved at a time that two clocks leave open."""
DRAIN = "left.drain"
"""How the plan leaves a drain."""
HALVES = (
    ("([0-9]+) and a half", r"\1.5"),
    ("([0-9]+) (turns?) and a half", r"\1.5 \2"),
    ("([0-9]+) and a quarter", r"\1.25"),
    ("([0-9]+) (turns?) and a quarter", r"\1.25 \2"),
    ("(a )?half (a )?turn", "0.5 turn"),
    ("(a )?quarter (of )?(a )?turn", "0.25 turn"),
)
"""How turns are said in words, and how they are written in figures."""


def broken(
    record: Record, steps: Mapping[str, Step]
) -> tuple[dict[str, tuple[Remark, ...]], dict[str, tuple[Remark, ...]], tuple[Remark, ...]]:
    """Return what stood otherwise than it is to stand, by step: what refuses it, and what makes it stale.

    The third: what is only told, of a step gone through once, with all proved anew by the way for that.

    A proof of a step is stale where a valve was moved inside it. A step that proves nothing, or how something
    was found, is refused; so is one gone through with an inlet valve too far open.
    """
    answered: list[Remark] = []
    refusing: dict[str, list[Remark]] = {}
    moved: dict[str, list[Remark]] = {}
    keeps = set(record.procedure.minding.keeps)
    doubt = doubts(row.entry for row in record.rows)
    for hold in record.procedure.minding.holds:
        step = steps.get(hold.step)
        span = _held(step, hold, steps) if step is not None and step.way == "on" else None
        found = _inside(record, span, hold, doubt) if span is not None else None
        if step is None or found is None:
            continue
        if _proved_anew(record, steps, hold, found[0]):
            answered.append(_remark(record, hold.step, found, "shut"))
            continue
        stale = step.node.proves and not hold.since and not keeps & set(step.node.proves)
        told = moved if stale else refusing
        told.setdefault(hold.step, []).append(_remark(record, hold.step, found, "shut"))
    for one in record.procedure.minding.openings:
        seen = _seen(record, steps, one)
        for name in one.asks:
            step = steps.get(name)
            far = _too_far(record, step, seen, one, doubt) if step is not None and step.way == "on" else None
            if far is not None:
                refusing.setdefault(name, []).append(_remark(record, name, far, called(one), part=one.part))
    return _each(refusing), _each(moved), tuple(answered)


def _proved_anew(record: Record, steps: Mapping[str, Step], hold: Hold, row: Row) -> bool:
    """Return whether a step gone through once was made good after a valve was moved in it.

    The valve is proved tight anew, and so is what the step found, by the option the plan has for that.
    """
    minding = record.procedure.minding
    chosen = [
        name
        for one in minding.instead
        if one.step == hold.step and record.choices.get(one.choice) == one.option
        for choice in record.procedure.choices
        if choice.id == one.choice
        for option, _, opened in choice.options
        if option == one.option
        for name in opened
    ]
    tight = [name for one in minding.shields if hold.part in one.moved for name in one.steps]

    def done(names: list[str]) -> bool:
        own = (steps[name] for name in names if name in steps)
        return any(
            one.node.proves and one.base > row.at and one.way == "on" and not one.lacks and not one.is_refused
            for one in own
        )

    return done(chosen) and done(tight)


def _each(found: Mapping[str, list[Remark]]) -> dict[str, tuple[Remark, ...]]:
    """Return the remarks of each step, one of each part."""
    return {
        name: tuple({str(one.params["part"]): one for one in remarks}.values())
        for name, remarks in found.items()
    }


def _remark(record: Record, step: str, found: Found, asked: str, *, part: str = "") -> Remark:
    row, is_sure = found
    how = _how(record, row) if not part or row.thing == part else "open"
    how = f"otherwise ({row.do})" if part and how and row.do in MOVED else how
    how = how if is_sure else f"{how} ({UNTOLD})"
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


def unread(record: Record, steps: Mapping[str, Step]) -> list[Remark]:
    """Return the newest position of each such valve of which nobody can tell how it stands.

    Of an inlet valve so too what was last done at it before a raise, where that says nothing of it.
    """
    minding = record.procedure.minding
    shut = {one.part for one in minding.holds} | {part for one in minding.shields for part in one.moved}
    inlet = {one.part: one for one in minding.openings}
    newest: dict[str, Row | None] = {}
    for row in record.rows:
        if row.thing not in (*shut, *inlet) or row.entry.kind not in ("position", "action"):
            continue
        text = row.text("is")
        opening = inlet.get(row.thing)
        plain = stands_shut(text) or (stands_open(text) and opening is None)
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
    told = {thing: (row, row.text("is")) for thing, row in newest.items() if row is not None}
    for one in minding.openings:
        run = _run_through(record, steps, one)
        if run is not None:
            told.setdefault(one.part, (run, f"not said ({run.do})"))
    return [
        Remark("RUN-49", thing, (row.entry.id,), {"is": how}) for thing, (row, how) in sorted(told.items())
    ]


def _run_through(record: Record, steps: Mapping[str, Step], one: Opening) -> Row | None:
    """Return the act by which water was run through an inlet valve before a raise, or in it.

    Not where it was said since, or a step shows, how it stands.
    """
    runs = [
        row
        for row in record.rows
        if row.thing == one.part and row.do in RUNS and row.entry.node not in (*one.brings, *one.opens)
    ]
    seen = _seen(record, steps, one) if runs and not one.full else []
    for name in one.asks if runs and not one.full else ():
        step = steps.get(name)
        span = _span(step) if step is not None and step.way == "on" else None
        if span is None:
            continue
        since = max((at for at, _, _ in seen if at < span[0]), default=-1.0)
        found = [row for row in runs if since < row.at <= span[1]]
        if found:
            return found[0]
    return None


def _left(record: Record, text: str) -> set[str]:
    """Return the things of which these words say that they stand as they are left."""
    return {one.thing for one in record.procedure.minding.left if text in one.words}


def _said(record: Record, row: Row) -> str:
    left = frozenset(one.thing for one in record.procedure.minding.left)
    return said(row, left, valves(record.procedure))


def _how(record: Record, row: Row) -> str:
    """Return how a valve stood by an act or a position; empty where it says nothing of that."""
    return _said(record, row) or (f"open ({row.do})" if row.do in LETS_OFF else "")


def _held(step: Step, hold: Hold, steps: Mapping[str, Step]) -> tuple[int, int] | None:
    """Return between which rows a valve is to stand shut; None where they do not stand."""
    first = _place(step, hold.first, newest=False)
    if hold.since:
        giving = steps.get(hold.since[0])
        pick = giving.chosen.get(hold.since[1]) if giving is not None else None
        first = pick.newest if pick is not None else first
    last = _place(step, hold.last, newest=True)
    return None if first is None or last is None else (first, last)


Found = tuple[Row, bool]
"""An entry by which a valve stood otherwise, and whether the clocks tell that it was then."""


def _inside(record: Record, span: tuple[int, int], hold: Hold, doubt: Doubt) -> Found | None:
    """Return by what a valve that is to stand shut all through a step did not, or may not; None if it did."""
    first, last = span
    every = [(row, _how(record, row)) for row in record.rows if row.thing == hold.part]
    every = [(row, how) for row, how in every if how]
    told = [(row, how) for row, how in every if first < row.at < last]
    counts = told[-1:] if hold.ends else told
    sure = next((row for row, how in counts if not _is_shut(row, how, hold)), None)
    if sure is not None:
        return sure, True
    for row, how in every:
        if _is_shut(row, how, hold):
            continue
        if row.at > last:
            may = _untold(record.rows[last].entry, row.entry, doubt)
        elif hold.ends:
            may = bool(told) and row.at < told[-1][0].at and _untold(row.entry, told[-1][0].entry, doubt)
        else:
            may = row.at < first and _untold(row.entry, record.rows[first].entry, doubt)
        if may:
            return row, False
    return None


def _untold(one: Entry, other: Entry, doubt: Doubt) -> bool:
    """Return whether an entry that sorts before another may come after it; not by clocks that agree."""
    within = one.clock_within + other.clock_within + doubt.late(one) + doubt.early(other)
    return within > AGREE and may_follow(one, other, doubt)


def dry_now(record: Record, name: str) -> tuple[str, ...]:
    """Return the drains of a step's section last said to stand shut, and no flow was read since.

    With no water drawn the section comes to lock-up, whatever the screw is turned by: no turn is advised.
    An inlet valve that stands shut lets the section run empty: its readings tell nothing of the screw.
    """
    procedure, doubt = record.procedure, doubts(row.entry for row in record.rows)
    own = ("", procedure.streams.get(name, ""))
    drains = {part for part, how in procedure.left if how.id == DRAIN}
    here = (one.part for one in procedure.minding.holds if procedure.streams.get(one.step, "") in own)
    found = []
    for part in dict.fromkeys(one for one in here if one in drains):
        shut: Row | None = None
        for row in record.rows:
            how = _how(record, row) if row.thing == part else ""
            if how:
                shut = row if stands_shut(how) else None
            elif shut is not None and procedure.streams.get(row.entry.node, "") in own:
                runs = (row.number("flow") or 0.0) > 0.0 and row.entry.kind == "reading"
                shut = None if runs and not _untold(shut.entry, row.entry, doubt) else shut
        found += [f"{part} open, water running"] if shut is not None else []
    inlets = (one for one in procedure.minding.openings if name in one.asks)
    return (*found, *(f"{one.part} {called(one)}" for one in inlets if _is_shut_off(record, one, own)))


def _is_shut_off(record: Record, one: Opening, streams: tuple[str, ...]) -> bool:
    """Return whether an inlet valve was last said to stand shut, nothing opened it and no flow was read."""
    is_shut = False
    for row in record.rows:
        how = _how(record, row) if row.thing == one.part else ""
        if how:
            is_shut = stands_shut(how)
        elif row.entry.node in (*one.brings, *one.opens):
            is_shut = False
        elif row.entry.kind == "reading" and record.procedure.streams.get(row.entry.node, "") in streams:
            is_shut = is_shut and not (row.number("flow") or 0.0) > 0.0
    return is_shut


def _place(step: Step, name: str, *, newest: bool) -> int | None:
    """Return where the reading of an input stands; without a name, the newest or oldest of the step."""
    if name:
        pick = step.chosen.get(name)
        return None if pick is None else pick.newest if newest else pick.oldest
    place = step.latest if newest else step.base
    return place if place >= 0 else None


def _is_shut(row: Row, how: str, hold: Hold) -> bool:
    """Return whether it says shut; all through a step, that it was never open meanwhile."""
    if row.entry.kind != "position":
        return how == "shut"
    return stands_shut(how) and (hold.ends or not was_opened(how))


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
    if row.do not in (*STANDS, *MOVED):
        return None
    if row.do not in ("open", *MOVED):
        return False
    if row.do in WHOLE and folded(row.text("thing")) != folded(one.part):
        return None
    amount, unit = row.entry.payload.get("amount"), row.text("unit").translate(LOWER).strip()
    far = _beyond(float(amount), unit, one) if is_number(amount) else None
    if far is None:
        far = _read(row.text("detail"), one)
    if far is None and row.entry.node in (*one.brings, *one.opens):
        return None
    if row.do in MOVED and (far is False or one.full):
        return far or None
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
    text = _spoken(text)
    words = in_order(text)
    bare = all(word in WIDE or word.isdigit() for word in words)
    for amount, unit in AMOUNT.findall(re.sub("v2", "", text.translate(LOWER))):
        if unit or bare:
            far = _beyond(float(amount.replace(",", ".")), unit, one)
            if far is not None:
                return far
    if set(words) & set(NARROW):
        return False
    if not set(words) & set(WIDE) or set(words) & set(SHUT):
        return None
    known = not set(words) & set(TURNED) or bool(set(words) & set(FAR))
    return not one.full if known else None


reads_too_far = _read


def _spoken(text: str) -> str:
    """Return words of a position with their numbers of turns in figures.

    Examples
    --------
    >>> [_spoken(text) for text in ("three turns", "One and a half turns", "half a turn")]
    ['3 turns', '1.5 turns', '0.5 turn']
    """
    low = re.sub("[a-z]+", lambda found: NUMBERS.get(found[0], found[0]), text.translate(LOWER))
    for words, figures in HALVES:
        low = re.sub(words, figures, low)
    return low


def _span(step: Step) -> tuple[int, int] | None:
    """Return from where to where a step was gone through; None where it was not begun."""
    rows = [row for row in step.rows if row.entry.kind in BEGINS]
    if not rows:
        return None
    begin = step.base if step.base >= 0 else rows[0].at
    return begin, step.latest if step.latest >= 0 else rows[-1].at


def _too_far(record: Record, step: Step, seen: list[Seen], one: Opening, doubt: Doubt) -> Found | None:
    """Return by what the valve stood too far open as a step was begun, or in it, or may have; else None."""
    span = _span(step)
    if span is None:
        return None
    begin, end = span
    before = [(far, row) for at, far, row in seen if at < begin]
    if before and before[-1][0]:
        return before[-1][1], True
    sure = next((row for at, far, row in seen if begin <= at <= end and far), None)
    if sure is not None:
        return sure, True
    works = (*one.brings, *one.opens)
    said = [(each, far) for at, far, each in seen if at == each.at and each.entry.node not in works]
    last = record.rows[end].entry
    late = (each for each, far in said if far and each.at > end and _untold(last, each.entry, doubt))
    may = next((each for each, far in said if far and _reaches(record, each, begin, seen, doubt)), None)
    may = may or _put_back(record, begin, seen, doubt) or next(late, None)
    return None if may is None else (may, False)


def _reaches(record: Record, row: Row, begin: int, seen: list[Seen], doubt: Doubt) -> bool:
    """Return whether an opening before a step may have been after its beginning, or after it was put back."""
    if row.at >= begin:
        return False
    back = [other for at, far, other in seen if row.at < at < begin and not far]
    after = all(_untold(row.entry, other.entry, doubt) for other in back)
    return after or _untold(row.entry, record.rows[begin].entry, doubt)


def _put_back(record: Record, begin: int, seen: list[Seen], doubt: Doubt) -> Row | None:
    """Return by what the valve stood too far open if what put it back came only after the beginning."""
    first = record.rows[begin].entry
    sure = [
        (far, row)
        for at, far, row in seen
        if at < begin and not (at == row.at and not far and _untold(row.entry, first, doubt))
    ]
    return sure[-1][1] if sure and sure[-1][0] else None
