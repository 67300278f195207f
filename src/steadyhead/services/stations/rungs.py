"""The figures of a ladder beside those before a change, in words and in SI."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pydantic import BaseModel, ConfigDict

from steadyhead.records.design import DesignSheet
from steadyhead.records.ladder import Ladder
from steadyhead.reports.ladders import chosen_stacking, guarded
from steadyhead.services.judging import Judged
from steadyhead.units import METRIC, UnitSet, from_si, paired, say, say_apart, say_window, to_si
from steadyhead.units.display import usual_digits

FAULT, PEAK = "fault limit", "peak in the credited failure"
SAME = 0.5
"""Pressures nearer than this are the same on every screen. [Pa]"""


class RungView(BaseModel):
    """One pressure of the ladder now and before, gauge at datum; empty, None: there is none."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str
    now: str
    was: str
    now_pa: float | None
    was_pa: float | None
    moved: str


class WindowView(BaseModel):
    """The window of a trip in one way of adding tolerances, now and before."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str
    verdict: str
    now: str
    was: str
    is_chosen: bool


def rungs_of(judged: Judged, before: Judged, units: UnitSet = METRIC) -> tuple[RungView, ...]:
    """Return the pressures of a ladder from the top down, each with that before the change."""
    now, was = dict(figures(judged.sheet)), dict(figures(before.sheet))
    names = [*now, *(name for name in was if name not in now)]
    found = [
        RungView(
            name=name,
            now=_beside_limit(name, now, units),
            was=_beside_limit(name, was, units),
            now_pa=now.get(name),
            was_pa=was.get(name),
            moved=_moved(now.get(name), was.get(name), units),
        )
        for name in names
    ]
    return tuple(sorted(found, key=lambda one: -(one.now_pa or one.was_pa or 0.0)))


def figures(sheet: DesignSheet) -> Iterator[tuple[str, float]]:
    """Yield the pressures of a sheet's ladder by name; those of each stream where there are several. [Pa]"""
    if sheet.ladder is None:
        return
    if not sheet.streams:
        yield from _of(sheet, sheet.ladder)
        return
    found = {stream.words or stream.stream: dict(_of(sheet, stream.ladder)) for stream in sheet.streams}
    for name in dict.fromkeys(name for one in found.values() for name in one):
        values = [one.get(name) for one in found.values()]
        first = values[0]
        if first is not None and all(one is not None and abs(one - first) < SAME for one in values):
            yield name, first
            continue
        for whose, one in found.items():
            if name in one:
                yield f"{name}, {whose}", one[name]


def _of(sheet: DesignSheet, ladder: Ladder) -> Iterator[tuple[str, float]]:
    given, stacking = ladder.inputs, chosen_stacking(sheet, ladder)
    rows = (
        (FAULT, given.fault_limit),
        ("normal limit", given.normal_limit),
        (PEAK, stacking.peak),
        ("trip, upper edge", stacking.trip_upper_edge),
        ("trip", given.trip),
        ("trip, lower edge", stacking.trip_lower_edge),
        ("overshoot after the trip", ladder.overshoot),
        ("relief starts to lift", given.relief_crack),
        ("high alarm", given.alarm),
        ("highest normal, heated", ladder.heated),
        ("highest normal", ladder.highest_normal),
        ("lock-up", given.lockup),
        ("duty", given.duty),
        ("lowest normal", ladder.lowest_normal),
        ("needed", given.needed),
    )
    yield from ((name, value) for name, value in rows if value is not None)


def windows_of(judged: Judged, before: Judged, units: UnitSet = METRIC) -> tuple[WindowView, ...]:
    """Return the trip windows now, each with that before the change."""
    now, was = dict(_windows(judged.sheet, units)), dict(_windows(before.sheet, units))
    return tuple(
        WindowView(
            name=name,
            verdict=verdict,
            now=words,
            was=was[name][1] if name in was else "",
            is_chosen=is_chosen,
        )
        for name, (verdict, words, is_chosen) in now.items()
    )


def _windows(sheet: DesignSheet, units: UnitSet) -> Iterator[tuple[str, tuple[str, str, bool]]]:
    if sheet.ladder is None:
        return
    several = guarded(sheet)
    ladders = [(stream.ladder, f", {stream.shut_off}") for stream in several] if len(several) > 1 else []
    for ladder, whose in ladders or [(sheet.ladder, "")]:
        for stacking in (ladder.worst_case, ladder.root_sum_square):
            if stacking.verdict == "no shut-off":
                continue
            words = "not known"
            if stacking.highest is not None:
                words = say_window(stacking.lowest, stacking.highest, (), "pressure", units)[0]
                words = f"empty: {words}" if stacking.verdict == "empty" else words
            yield f"{stacking.name}{whose}", (stacking.verdict, words, stacking.name == sheet.stacking)


def _beside_limit(name: str, found: Mapping[str, float], units: UnitSet) -> str:
    """Return a pressure in words; peak and fault limit with as many decimals as tell them apart."""
    value, (what, *whose) = found.get(name), name.split(", ", 1)
    beside = {FAULT: PEAK, PEAK: FAULT}.get(what, "")
    other = found.get(", ".join([beside, *whose]), found.get(beside))
    if value is None or other is None:
        return _say(value, units)
    return say_apart((value, other), "pressure", units)[0]


def _say(value: float | None, units: UnitSet) -> str:
    return "" if value is None else say(value, "pressure", units)


def _moved(now: float | None, was: float | None, units: UnitSet) -> str:
    """Return in words by how much a pressure moved; empty where it stands."""
    if now is None or was is None:
        return "" if now is was else "new" if was is None else "gone"
    if abs(now - was) < SAME or _say(now, units) == _say(was, units):
        return ""
    by = paired(lambda one: _difference(now, was, one), units)
    return f"{'up' if now > was else 'down'} {by}"


def _difference(now: float, was: float, units: UnitSet) -> str:
    """Return by how much the shown figures of two pressures differ: no digit more than they have."""
    unit = units.unit("pressure")
    figures = [from_si(value, "pressure", unit) for value in (now, was)]
    places = max(usual_digits(figure, "pressure", unit) for figure in figures)
    by = abs(round(figures[0], places) - round(figures[1], places))
    return say(to_si(by, "pressure", unit), "pressure", units, places)
