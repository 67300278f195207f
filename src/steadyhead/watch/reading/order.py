"""Which of the short numbers of a date is the day: by what cannot be, by how the stamps run on, by habit."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from steadyhead.records.logger import Choice, Context, Doubt
from steadyhead.watch.reading.stamps import DAY, US, Stamp, days

ORDERS = ("dmy", "mdy", "ymd")
IN_WORDS = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}
_AMERICAN = ("America/", "US/", "Pacific/Honolulu", "Canada/")


@dataclass(frozen=True, slots=True)
class Decided:
    """Order of the dates of one shape; `evidence` in words; `open`: no day above 12 tells it."""

    order: str
    evidence: str
    open: bool
    doubt: Doubt | None


def key_of(one: Stamp) -> str:
    """Return the shape of the date alone: stamps of one shape share their order."""
    shape = one.form.split("hh", 1)[0].strip(" T")
    return shape + (" AM" if "AM" in one.form else " with seconds" if ":ss" in one.form else "")


def decide(runs: Sequence[Sequence[Stamp]], context: Context) -> dict[str, Decided]:
    """Return the order for each shape of date met in runs of stamps (each in the order of its file)."""
    shapes: dict[str, list[list[Stamp]]] = {}
    for run in runs:
        last = ""
        for one in run:
            if one.parts is None or one.order != "?":
                last = ""
                continue
            shape = key_of(one)
            groups = shapes.setdefault(shape, [])
            if shape != last or not groups:
                groups.append([])
            groups[-1].append(one)
            last = shape
    out = {shape: _decide(shape, groups, context) for shape, groups in shapes.items()}
    sure = {shape.partition(" ")[0]: each for shape, each in out.items() if each.doubt is None}
    for shape, found in out.items():
        like = sure.get(shape.partition(" ")[0])
        if found.doubt and like and like.order in [each.value for each in found.doubt.choices]:
            out[shape] = Decided(like.order, "as the other stamps of the file", found.open, None)
    return out


def _decide(shape: str, groups: list[list[Stamp]], context: Context) -> Decided:
    stamps = [one for group in groups for one in group]
    parts = {one.parts for one in stamps if one.parts is not None}
    short_year = "yyyy" not in shape
    candidates = [order for order in ORDERS if order != "ymd" or short_year]
    if len({tuple(days(one, order) for one in sorted(parts)) for order in candidates}) == 1:
        return Decided(candidates[0], "day and month are alike", False, None)
    bad = {order: sum(days(one, order) is None for one in parts) for order in candidates}
    least = min(bad.values())
    left = [order for order in candidates if bad[order] <= max(least, 0.02 * len(parts))]
    only_one: list[str] = [order for order in ("dmy", "mdy") if order in left]
    if least:
        return _by_habit(shape, left, context, stamps)
    if len(left) == 1:
        return Decided(left[0], "the other orders give dates that do not exist", False, None)
    first = _first_hand(shape, left, context)
    if first is not None:
        return first
    smooth = {order: _jumps(groups, order) for order in left}
    best = min(left, key=lambda one: smooth[one])
    others = [one for one in left if one != best]
    if smooth[best] == 0 and all(smooth[one] >= 1 for one in others):
        rests = ", ".join(f"{IN_WORDS[one]} gives {smooth[one]} jumps" for one in others)
        return Decided(best, f"read {IN_WORDS[best]} the stamps run on without a jump; {rests}", True, None)
    if all(smooth[one] >= 4 * smooth[best] + 3 for one in others):
        return Decided(best, f"read {IN_WORDS[best]} the stamps jump least", True, None)
    spans = {order: _visited(stamps, order, context) for order in left}
    held = [order for order in left if spans[order]]
    if len(held) == 1:
        return Decided(
            held[0], f"a visit with a test gauge lies within the file only {IN_WORDS[held[0]]}", True, None
        )
    return _by_habit(shape, only_one or left, context, stamps)


def _first_hand(shape: str, left: list[str], context: Context) -> Decided | None:
    """Return the order that was told, or that dots between the numbers say."""
    told = "" if context.month_first is None else "mdy" if context.month_first else "dmy"
    told = told or _remembered(shape, context)
    if told in left:
        return Decided(told, "as told for this source", True, None)
    if "." in shape and "dmy" in left and "ymd" not in left:
        return Decided("dmy", "dots part the numbers, as they do where the day comes first", True, None)
    return None


def _remembered(shape: str, context: Context) -> str:
    """Return the order of the source's profile where its stamps had this shape; else nothing."""
    if context.profile is None:
        return ""
    date = shape.partition(" ")[0]
    forms = context.profile.time.forms
    return context.profile.time.order if any(one.startswith(date) for one in forms) else ""


def _by_habit(shape: str, left: list[str], context: Context, stamps: list[Stamp]) -> Decided:
    american = context.zone.startswith(_AMERICAN) or (
        "/" in shape and any("AM" in one.form for one in stamps)
    )
    taken = "mdy" if american and "mdy" in left else "dmy" if "dmy" in left else left[0]
    why = "the zone or the twelve-hour clock suggests it" if american else "it is the wider habit"
    example = next((one for one in stamps if one.parts), None)
    said = "/".join(str(part) for part in example.parts) if example and example.parts else ""
    choices = tuple(
        Choice(order, f"{IN_WORDS[order]}: {_spelled(example, order)}", why if order == taken else "")
        for order in left
    )  # fmt: skip
    doubt = Doubt("date order", f"Is the date {said} written day first or month first?", choices, taken)
    return Decided(taken, f"nothing in the file tells; {why}", True, doubt)


def _spelled(one: Stamp | None, order: str) -> str:
    found = days(one.parts, order) if one is not None and one.parts else None
    return "" if found is None else datetime.fromordinal(found + 719_163).strftime("%Y-%m-%d")


def _jumps(groups: list[list[Stamp]], order: str) -> int:
    """Return how often the stamps jump by more than their rhythm allows, either way."""
    found = 0
    for group in groups:
        times = [
            day * DAY + (one.clock or 0)
            for one in group
            if one.parts and (day := days(one.parts, order)) is not None
        ]
        steps = [b - a for a, b in itertools.pairwise(times)]
        if not steps:
            continue
        if sum(one < 0 for one in steps) > len(steps) / 2:
            steps = [-one for one in steps]
        usual = sorted(abs(one) for one in steps)[len(steps) // 2]
        limit = max(20 * usual, 3 * DAY) if usual < DAY else 3 * usual
        found += sum(one > limit or one < -DAY for one in steps)
    return found


def _visited(stamps: list[Stamp], order: str, context: Context) -> bool:
    found = [day for one in stamps if one.parts and (day := days(one.parts, order)) is not None]
    if not found or not context.visits:
        return False
    inside = [min(found) <= one.when.timestamp() * US // DAY <= max(found) for one in context.visits]
    return all(inside)
