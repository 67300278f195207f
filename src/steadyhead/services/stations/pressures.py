"""The pressure ladder of a station, and the handful of numbers it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ConfigDict

from steadyhead.records.design import UsedDefault
from steadyhead.services.judging import Judged
from steadyhead.services.stations.fields import (
    FormView,
    GroupView,
    ProblemView,
    RowView,
    form_of,
)
from steadyhead.services.stations.trying import Draft, TryView, ladder_svg, map_svg, view_of
from steadyhead.units import METRIC, UnitSet

PHONE, DESK, MAP = 330, 840, 560
"""Widths of the ladder on a phone and beside its numbers, and of the capacity map. [px]"""
GROUPS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("Duty", "reducer", ("duty.pressure", "duty.flow", "lockup", "repeatability", "drift")),
    ("Trip", "shut_off", ("trip", "repeatability", "drift")),
    ("Closing", "shut_off", ("closing.time", "closing.flow")),
    ("Relief", "relief", ("crack", "full", "error")),
)
"""Numbers of the parts of the line: heading, part, fields."""


class NumberView(BaseModel):
    """One number the ladder rests on: what it is called here, and its field."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    label: str
    row: RowView


class NumbersView(BaseModel):
    """Numbers that belong together."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    title: str
    numbers: tuple[NumberView, ...]


class LadderView(BaseModel):
    """The ladder of a file with its numbers.

    phone: the same drawing for a narrow screen; old: while a value cannot be used, the drawings of the
    revision it goes on from, for a wide screen and a narrow one; map_svg: the capacity map.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    tried: TryView
    phone: str
    old: tuple[str, str] | None
    map_svg: str
    numbers: tuple[NumbersView, ...]


def ladder_view(
    key: str,
    number: int,
    found: Draft,
    before: Judged,
    steps: int = 0,
    units: UnitSet = METRIC,
) -> LadderView:
    """Return the ladder of a draft, and its numbers as typed.

    number, before: revision it goes on from, and how that is judged; steps: how many changes were done.
    """
    shown = found.judged or before
    return LadderView(
        tried=view_of(key, number, steps, found, before, units, DESK),
        phone=ladder_svg(found.judged, units, PHONE)[0] if found.judged else "",
        old=None
        if found.judged
        else (ladder_svg(before, units, DESK)[0], ladder_svg(before, units, PHONE)[0]),
        map_svg=map_svg(shown, units, MAP),
        numbers=numbers_of(found.data, found.problems, shown.sheet.defaults, units),
    )


def numbers_of(
    data: Mapping[str, Any],
    problems: Sequence[ProblemView] = (),
    defaults: Sequence[UsedDefault] = (),
    units: UnitSet = METRIC,
) -> tuple[NumbersView, ...]:
    """Return the numbers a ladder rests on, as they are typed in the file."""
    form = form_of(data, problems, defaults, units)
    parts = list(_parts(form, data))
    found = [
        NumbersView(title=title, numbers=tuple(_of_parts(parts, kind, names)))
        for title, kind, names in GROUPS
    ]
    found[2:2] = [_block(form, "Alarm", "alarm", ("pressure", "delay", "error"))]
    found += [_limits(form), _needs(form), _tolerances(form), _overshoot(form)]
    return tuple(one for one in found if one.numbers)


def _parts(form: FormView, data: Mapping[str, Any]) -> Iterator[tuple[str, str, dict[str, RowView]]]:
    """Yield id, kind and fields of every part of the line, those of branches too."""
    line = next((group for group in form.groups if group.at == "line"), None)
    if line is not None:
        yield from _items(line, data.get("line"))


def _items(group: GroupView, items: object) -> Iterator[tuple[str, str, dict[str, RowView]]]:
    for item, raw in zip(group.groups, items if isinstance(items, list) else (), strict=False):
        holder = raw if isinstance(raw, dict) else {}
        rows = {row.at.removeprefix(f"{item.at}."): row for row in _rows(item)}
        yield str(holder.get("id", "")), str(holder.get("part", "")), rows
        for branch, inner in zip(_branches(item), holder.get("branches") or (), strict=False):
            line = next((one for one in branch.groups if one.at.endswith(".line")), None)
            if line is not None and isinstance(inner, dict):
                yield from _items(line, inner.get("line"))


def _branches(item: GroupView) -> tuple[GroupView, ...]:
    return next((group.groups for group in item.groups if group.at.endswith(".branches")), ())


def _rows(group: GroupView) -> Iterator[RowView]:
    yield from group.rows
    for inner in group.groups:
        if inner.kind == "block":
            yield from _rows(inner)


def _of_parts(
    parts: Sequence[tuple[str, str, dict[str, RowView]]], kind: str, names: Sequence[str]
) -> Iterator[NumberView]:
    for part_id, part, rows in parts:
        if part != kind:
            continue
        for name in names:
            if name in rows:
                words = name.replace(".", " ").replace("_", " ").replace("lockup", "lock-up")
                yield NumberView(label=f"{part_id} {words}", row=rows[name])


def _block(form: FormView, title: str, at: str, names: Sequence[str], label: str = "") -> NumbersView:
    group = next((one for one in form.groups if one.at == at), None)
    rows = {row.at: row for row in _rows(group)} if group is not None else {}
    found = [(name, rows.get(f"{at}.{name}")) for name in names]
    return NumbersView(
        title=title,
        numbers=tuple(NumberView(label=f"{label}{row.name}", row=row) for _, row in found if row is not None),
    )


def _listed(form: FormView, at: str, names: Sequence[str]) -> Iterator[tuple[str, RowView]]:
    group = next((one for one in form.groups if one.at == at), None)
    for item in group.groups if group is not None else ():
        rows = {row.at.removeprefix(f"{item.at}."): row for row in item.rows}
        whose = next((rows[key].value for key in ("component", "id", "at") if key in rows), item.title)
        for name in names:
            if name in rows:
                yield whose, rows[name]


def _limits(form: FormView) -> NumbersView:
    found = _listed(form, "limits", ("normal", "fault", "level", "derating"))
    return NumbersView(
        title="Limits",
        numbers=tuple(NumberView(label=f"{whose}: {row.name}", row=row) for whose, row in found),
    )


def _needs(form: FormView) -> NumbersView:
    found = _listed(form, "needs", ("pressure", "level", "friction"))
    return NumbersView(
        title="Needed",
        numbers=tuple(NumberView(label=f"{whose}: {row.name}", row=row) for whose, row in found),
    )


def _tolerances(form: FormView) -> NumbersView:
    stacked = next((row for group in form.groups for row in group.rows if row.at == "stacking"), None)
    rows = [] if stacked is None else [NumberView(label="tolerances add up by", row=stacked)]
    rows += _block(form, "", "tolerances", ("gap", "hunting", "same_gauge")).numbers
    rows += [
        NumberView(label=f"gauge {whose}: {row.name}", row=row)
        for whose, row in _listed(form, "gauges", ("span", "accuracy"))
    ]
    return NumbersView(title="Tolerances", numbers=tuple(rows))


def _overshoot(form: FormView) -> NumbersView:
    credited = [
        NumberView(label=f"credited: {row.name}", row=row)
        for _, row in _listed(form, "credited", ("within", "at"))
    ]
    zone = _block(form, "", "zone", ("volume", "elasticity"), "consumers' mains: ").numbers
    night = _block(form, "", "demand", ("night", "exponent"), "flow: ").numbers
    return NumbersView(title="Overshoot", numbers=(*credited, *zone, *night))
