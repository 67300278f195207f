"""Curves of measures as tables: time in band by hour and by flow, the droop both ways, fast changes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from steadyhead.services.logs.measuring import MeasureView
from steadyhead.services.logs.views import View
from steadyhead.units import METRIC, UnitSet, say
from steadyhead.watch.counting import signed
from steadyhead.watch.measures.measure import Measure

NONE = "–"
CLOCK = "on the clock of the files"


class MeasureTable(View):
    """A table beside a measure: what it shows, names of its columns, rows in words."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def tables_of(one: MeasureView, units: UnitSet = METRIC) -> tuple[MeasureTable, ...]:
    """Return the tables of a measure, in the reader's units; none for one that has no curve."""
    made = _TABLES.get(one.code)
    return () if made is None else tuple(made(one.details, units))


def _band(details: Mapping[str, Any], units: UnitSet) -> list[MeasureTable]:
    out = []
    heads = ("Seen", "Within", "Under", "Over")
    if rows := details.get("by_hour"):
        named = [(f"{int(one['at']):02d}:00", *_shares(one)) for one in rows]
        out.append(
            MeasureTable(caption=f"By hour of the day, {CLOCK}", heads=("Hour", *heads), rows=tuple(named))
        )
    if rows := details.get("by_flow"):
        named = [(say(one["at"], "flow", units), *_shares(one)) for one in rows]
        out.append(MeasureTable(caption="By flow, about", heads=("Flow", *heads), rows=tuple(named)))
    return out


def _shares(one: Mapping[str, Any]) -> tuple[str, ...]:
    return (f"{one['hours']:.1f} h", *(_percent(one[name]) for name in ("within", "under", "over")))


def _percent(share: float) -> str:
    """Return a share so that a little of it is not told as nothing, nor nearly all as all."""
    if 0.0 < share < 0.001:
        return "under 0.1 %"
    if 0.999 < share < 1.0:
        return "over 99.9 %"
    return f"{100.0 * share:.1f} %"


def _droop(details: Mapping[str, Any], units: UnitSet) -> list[MeasureTable]:
    every: Sequence[Mapping[str, Any]] = details.get("points") or ()
    if not every:
        return []
    ways = [{one["flow"]: one["outlet"] for one in details.get(name) or ()} for name in ("rising", "falling")]
    rows = tuple(
        (
            say(one["flow"], "flow", units),
            say(one["outlet"], "pressure", units),
            f"{say(one['low'], 'pressure', units)} to {say(one['high'], 'pressure', units)}",
            *(say(way[one["flow"]], "pressure", units) if one["flow"] in way else NONE for way in ways),
            str(one["n"]),
        )
        for one in every
    )
    heads = (
        "Flow, about",
        "Outlet, middle",
        "Four fifths lie in",
        "Rising flow",
        "Falling flow",
        "Samples or minutes",
    )
    return [MeasureTable(caption="Outlet by flow", heads=heads, rows=rows)]


def _beside(details: Mapping[str, Any], units: UnitSet) -> list[MeasureTable]:
    rows = tuple(
        (
            say(one["flow"], "flow", units),
            say(one["inlet"], "pressure", units) if one["inlet"] is not None else NONE,
            say(one["outlet"], "pressure", units),
            say(one["twin"], "pressure", units),
            signed(say(one["outlet"] - one["twin"], "pressure", units)),
            str(one["n"]),
        )
        for one in details.get("beside") or ()
    )
    heads = ("Flow, about", "Inlet, mean", "Outlet, middle", "Of the twin", "Over it", "Samples or minutes")
    return [MeasureTable(caption="Outlet beside the twin, by flow", heads=heads, rows=rows)] if rows else []


def _fast(details: Mapping[str, Any], units: UnitSet) -> list[MeasureTable]:
    rows = tuple(
        (
            f"{one['hour']:02d}:00",
            str(one["rises"]),
            str(one["falls"]),
            say(one["largest"], "pressure", units),
        )
        for one in details.get("by_hour") or ()
    )
    heads = ("Hour", "Rises", "Falls", "Largest")
    of = f" of the {side}" if (side := details.get("side")) else ""
    caption = f"Fast changes{of} by hour of the day, {CLOCK}"
    return [MeasureTable(caption=caption, heads=heads, rows=rows)] if rows else []


_TABLES: dict[str, Callable[[Mapping[str, Any], UnitSet], list[MeasureTable]]] = {
    Measure.IN_BAND.value: _band, Measure.DROOP.value: _droop, Measure.LEAPS.value: _fast,
    Measure.TWIN_LEVEL.value: _beside,
}  # fmt: skip
