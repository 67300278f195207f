"""The tables of the design sheet: rungs, stackings, failures, limits, sizing, gauges."""

from __future__ import annotations

import math
import re
from typing import Any

from steadyhead.findings import Amount, Input
from steadyhead.records.capacity import RequiredKv
from steadyhead.records.cavitation import Degree
from steadyhead.records.design import DesignSheet, ReducerCase, ReducerSizing, Remedy
from steadyhead.records.ladder import Stacking
from steadyhead.reports.figures import between, figure
from steadyhead.reports.pictures import failure_words
from steadyhead.units import METRIC, UnitSet, bare_beside, say, say_short

NONE = "–"
UNKNOWN = "not known"
_DEGREES: dict[Degree, str] = {
    "incipient": "cavitation begins",
    "constant": "steady cavitation",
    "damage": "damage likely",
    "choked": "choked",
}
_ABSOLUTE_DIGITS = 3
"""Decimals of an absolute pressure: a vapour pressure is small. [1]"""
SAME_SIZE = 0.06
"""Sizes this near to each other count as one. [1]"""
PEAK = "Peak in the credited failure"
SAME = 0.5
"""Pressures nearer than this are the same on paper. [Pa]"""
_POWER, _COEFFICIENT = re.compile(r"\de[+-]\d"), re.compile(r"\bkv\b")
"""A figure with a power of ten, as no person writes it; a flow coefficient as fields of the file name it."""
FINE_DIGITS = 3
"""Decimals of a default in other units than it was written in."""


def _pressure(si: float | None, units: UnitSet, missing: str = UNKNOWN) -> str:
    return missing if si is None else figure(si, "pressure", units)


def _beside_limit(si: float | None, limit: float | None, units: UnitSet) -> str:
    """Return a pressure, a decimal more where it would read as the limit and is not."""
    if si is None or limit is None:
        return _pressure(si, units)
    return bare_beside((si,), limit, "pressure", units)[0]


def _built(adds: str, *, heated: bool) -> str:
    built = f"lock-up and {adds}" if adds else "lock-up"
    return f"{built}, before heating" if heated else built


def _two(normal: float | None, fault: float | None, units: UnitSet) -> str:
    told = f"{_pressure(normal, units, NONE)} / {_pressure(fault, units, NONE)}"
    return told.replace(" (", "\u00a0(")


def rungs(sheet: DesignSheet, units: UnitSet) -> list[list[str]]:
    """Return the ladder from the top down: rung, pressure at datum, what it is made of."""
    ladder = sheet.ladder
    if ladder is None:
        return []
    given = ladder.inputs
    stacking = ladder.root_sum_square if sheet.stacking == "root-sum-square" else ladder.worst_case
    weakest = (ladder.weakest_fault, ladder.weakest_normal)
    fault, normal = (each.component if each else "no component stated" for each in weakest)
    adds = ", ".join(
        f"{part.label} {figure(part.size, 'pressure', units)}" for part in given.highest_normal_adds
    )
    takes = ", ".join(
        f"{part.label} {figure(part.size, 'pressure', units)}" for part in given.lowest_normal_takes
    )
    rows: list[tuple[str, float | None, str]] = [
        ("Fault limit", given.fault_limit, fault),
        ("Normal limit", given.normal_limit, normal),
        (
            PEAK,
            stacking.peak,
            f"trip upper edge and overshoot, {stacking.name}"
            if stacking.passes_trip
            else "below the upper edge of the trip",
        ),
        (
            "Trip, upper edge",
            stacking.trip_upper_edge,
            f"trip + {say(_tolerance(stacking, given.trip), 'pressure', units)}",
        ),
        ("Trip", given.trip, "rising, where the shut-off starts to close"),
        ("Trip, lower edge", stacking.trip_lower_edge, "alarm must stay below"),
        ("Reset", given.reset, "self-resetting shut-off reopens below it"),
        ("Relief starts to lift", given.relief_crack, f"± {say(given.relief_error, 'pressure', units)}"),
        ("High alarm", given.alarm, f"± {say(given.alarm_error, 'pressure', units)}"),
        ("Highest normal, heated", ladder.heated, "all hot water heated once, nobody draws"),
        ("Highest normal", ladder.highest_normal, _built(adds, heated=ladder.heated is not None)),
        ("Lock-up", given.lockup, "outlet at no flow"),
        ("Duty", given.duty, "outlet at the stated duty flow"),
        ("Lowest normal", ladder.lowest_normal, f"duty less {takes}" if takes else "duty"),
        ("Needed", given.needed, "for every critical point"),
    ]
    without = {
        "Highest normal, heated",
        "Reset",
        "High alarm",
        "Relief starts to lift",
        "Trip, upper edge",
        "Trip, lower edge",
    }
    without.add(PEAK)
    no_trip = ladder.worst_case.verdict == "no shut-off"
    told = dict(_peak_beside_limit(stacking.peak, given.fault_limit, units))
    return [
        [name, told.get(name) or _pressure(value, units), of_what]
        for name, value, of_what in rows
        if value is not None or (name not in without and not (no_trip and name == "Trip"))
    ]


def _tolerance(stacking: Stacking, trip: float | None) -> float:
    """Return what may move the chosen trip upwards; without one what moves a trip of the window. [Pa]"""
    edge = stacking.trip_upper_edge
    return stacking.tolerance_up if trip is None or edge is None else edge - trip


def _peak_beside_limit(peak: float | None, limit: float | None, units: UnitSet) -> list[tuple[str, str]]:
    """Return peak and fault limit in figures that tell them apart, by the name of their rung."""
    if peak is None or limit is None:
        return []
    return list(zip((PEAK, "Fault limit"), bare_beside((peak,), limit, "pressure", units), strict=True))


def stackings(sheet: DesignSheet, units: UnitSet) -> list[list[str]]:
    """Return both ways of adding tolerances side by side: quantity, worst case, root-sum-square."""
    ladder = sheet.ladder
    if ladder is None or ladder.worst_case.verdict == "no shut-off":
        return []
    both, trip = (ladder.worst_case, ladder.root_sum_square), ladder.inputs.trip
    moves = any(abs(_tolerance(s, trip) - s.tolerance_up) >= SAME for s in both)
    whose = "a trip in the window's middle" if moves else "the trip"
    table = [
        [f"Tolerance of {whose} downwards", *(_pressure(s.tolerance_low, units) for s in both)],
        [f"Tolerance of {whose} upwards", *(_pressure(s.tolerance_up, units) for s in both)],
        ["Lowest trip allowed", *(_pressure(s.lowest, units) for s in both)],
        ["Highest trip allowed", *(_pressure(s.highest, units) for s in both)],
        ["Room", *(_pressure(s.width, units) for s in both)],
        ["Window", *(s.verdict for s in both)],
        [PEAK, *(_beside_limit(s.peak, ladder.inputs.fault_limit, units) for s in both)],
    ]
    parts = ", ".join(
        f"{part.label} {figure(part.size, 'pressure', units)}" for part in ladder.inputs.trip_tolerances
    )
    gap = say(ladder.inputs.gap, "pressure", units)
    return [*table, ["Made of", f"gap {gap}; {parts}", "the same, squares added"]]


def failures(sheet: DesignSheet, units: UnitSet) -> list[list[str]]:
    """Return each failure of the reducer looked at, its peak, and whether it is covered and credited."""
    if sheet.ladder is None:
        return []
    rows = []
    for peak in sheet.ladder.peaks:
        covered = UNKNOWN if peak.covered is None else "yes" if peak.covered else "no"
        rows.append(
            [
                failure_words(sheet.ladder, peak),
                say(peak.closing_time, "time", units),
                figure(peak.overshoot, "pressure", units),
                _beside_limit(peak.peak, sheet.ladder.inputs.fault_limit, units),
                covered,
                "credited" if peak.credited else "",
            ]
        )
    return rows


def limits(sheet: DesignSheet, units: UnitSet) -> list[list[str]]:
    """Return what each component bears, at its level and at datum, with the weakest marked."""
    ladder = sheet.ladder
    if ladder is None:
        return []
    rows = []
    for each in ladder.components:
        weakest = [
            word
            for word, found in (("normal", ladder.weakest_normal), ("fault", ladder.weakest_fault))
            if found == each
        ]
        rows.append(
            [
                each.component,
                each.side,
                say(each.level, "length", units),
                _two(each.normal_local, each.fault_local, units),
                _two(each.normal_at_datum, each.fault_at_datum, units),
                "; ".join(
                    filter(None, (f"weakest, {' and '.join(weakest)}" if weakest else "", each.source))
                ),
            ]
        )
    return rows


def reducer(sizing: ReducerSizing, units: UnitSet) -> dict[str, Any]:
    """Return one reducer's sizing: facts and a row per case."""
    spread = sizing.available_kv_spread
    band = f" ± {figure(spread, 'flow_coefficient', units)}" if spread else ""
    reach = sizing.spring_reach
    flows = sorted(sizing.lowest_flow_band)
    quiet = sizing.quiet_band
    available = say(sizing.available_kv, "flow_coefficient", units)
    facts = [
        ["Size", say(sizing.size, "size", units)],
        ["Available", f"{available}{band}; {sizing.available_kv_provenance}"],
        ["Lock-up", f"{say(sizing.lockup, 'pressure', units)}; {sizing.lockup_provenance}"],
        ["Least flow it holds", f"{say(sizing.lowest_flow, 'flow', units)} at 3 % lift; rule of 1 to 5 %: "
         + between(flows[0], flows[1], "flow", units)],
        *([] if quiet is None else [["Quick check of its loop", _quiet_words(quiet, units)]]),
        ["Spring range", between(sizing.spring_low, sizing.spring_high, "pressure", units)
         + (f"; a live proof needs {say(reach, 'pressure', units)}" if reach is not None else "")],
    ]  # fmt: skip
    return {
        "id": sizing.reducer,
        "facts": facts,
        "coefficient": units.heading("flow_coefficient"),
        "velocity": units.heading("velocity"),
        "flow": units.heading("flow"),
        "cases": [_case(case, sizing, units) for case in sizing.cases],
        "grounds": [_ground(given, units) for given in sizing.grounds],
    }


def _ground(given: Input, units: UnitSet) -> list[str]:
    """Return one thing the sizing rests on: what, figure, evidence."""
    amount = given.amount
    if not isinstance(amount, Amount):
        return [given.label, str(amount), given.provenance]
    if amount.kind == "ratio":
        return [given.label, f"{amount.si:.2f}".replace(".", units.decimal), given.provenance]
    digits = _ABSOLUTE_DIGITS if amount.kind == "pressure" else None
    return [given.label, say(amount.si, amount.kind, units, digits), given.provenance]


def _case(case: ReducerCase, sizing: ReducerSizing, units: UnitSet) -> list[str]:
    needed = case.required_kv
    share = ""
    if math.isfinite(needed) and sizing.available_kv:
        share = f"{needed / sizing.available_kv * 100:.0f} %"
        share = f", {share}" if units.shows_both("flow_coefficient") else f" ({share})"
    degree: Degree | None = case.degree or (
        "choked" if case.choked else "incipient" if case.incipient else None
    )
    marks = [_DEGREES[degree]] if degree else []
    marks += [f"gravel range {case.gravel}"] if case.gravel and case.gravel != "not expected" else []
    marks += [] if case.turbulent else ["not turbulent"]
    return [
        f"{case.flow_case}, {case.inlet_case} inlet",
        figure(case.flow, "flow", units),
        (figure(needed, "flow_coefficient", units) if math.isfinite(needed) else "none holds") + share,
        NONE if case.travel is None else f"{case.travel * 100:.0f} %",
        figure(case.velocity, "velocity", units),
        _ratio(case.sigma_1),
        _ratio(case.sigma_2),
        ", ".join(filter(None, (case.state, *marks))),
    ]


def _ratio(value: float | None) -> str:
    if value is None:
        return NONE
    return f"{value:.2f}" if math.isfinite(value) and value < 100 else "> 100"


def required(found: RequiredKv, units: UnitSet) -> dict[str, Any]:
    """Return required flow coefficients: a column for each case, a row for each size."""
    heads = [[f"{case.flow_case} flow,", f"{case.inlet_case} inlet"] for case in found.cases]
    rows = []
    for column in found.columns:
        name = f"{say(column.size, 'size', units)} {column.name}".rstrip()
        cells = [
            f"{_needed(kv, units)}, {say(speed, 'velocity', units)}"
            for kv, speed in zip(column.required_kv, column.velocities, strict=True)
        ]
        own = (
            NONE
            if column.available_kv is None
            else f"{figure(column.available_kv, 'flow_coefficient', units)}; {column.source}"
        )
        rows.append([name, *cells, own])
    pipes = f"{say(found.inlet_pipe, 'size', units)} and {say(found.outlet_pipe, 'size', units)}"
    return {
        "id": found.reducer,
        "heads": heads,
        "rows": rows,
        "curves": _curves(found, units),
        "pipes": pipes,
        "coefficient": units.heading("flow_coefficient"),
    }


def _quiet_words(quiet: tuple[float, float], units: UnitSet) -> str:
    band = between(quiet[0], quiet[1], "flow", units)
    return f"quiet from {band} at the night inlet, by pilot and sensing line; not calibrated, forbids nothing"


def _curves(found: RequiredKv, units: UnitSet) -> dict[str, Any]:
    """Return the required coefficient over flow at the lowest inlet: sizes in columns, what is had last."""
    sizes = [column for column in found.columns if not column.name or column.name == found.reducer]
    rows = [
        [say(flow, "flow", units), *(_needed(column.curve[place], units) for column in sizes)]
        for place, flow in enumerate(found.flows)
    ]
    rows += [["Fully open", *(_had(found, size.size, units) for size in sizes)]] if rows else []
    return {"heads": [say(column.size, "size", units) for column in sizes], "rows": rows}


def _had(found: RequiredKv, size: float, units: UnitSet) -> str:
    """Return what valves of a size have fully open: the fitted one's and own data sheets' coefficients."""
    own = [c for c in found.columns if c.available_kv is not None and abs(c.size / size - 1.0) < SAME_SIZE]
    return "; ".join(f"{c.name} {_needed(c.available_kv or 0.0, units)}" for c in own) or NONE


def _needed(kv: float, units: UnitSet) -> str:
    return figure(kv, "flow_coefficient", units) if math.isfinite(kv) else "none of this size"


def losses(sheet: DesignSheet, units: UnitSet) -> list[list[str]]:
    """Return clean losses and velocities at peak and fire flow beside usual limits and their evidence."""
    rows = [
        [
            f"{each.part}, clean {each.kind}",
            say(each.loss, "pressure", units),
            NONE if each.fire_loss is None else say(each.fire_loss, "pressure", units),
            say(each.limit, "pressure", units),
            each.source,
        ]
        for each in sheet.losses
    ]
    return rows + [
        [
            f"velocity, {each.place}",
            say(each.velocity, "velocity", units),
            NONE if each.fire_velocity is None else say(each.fire_velocity, "velocity", units),
            say(each.limit, "velocity", units),
            each.source,
        ]
        for each in sheet.pipes
    ]


def gauges(sheet: DesignSheet, units: UnitSet) -> list[list[str]]:
    """Return each gauge beside this station's trip window."""
    rows = []
    for each in sheet.gauges:
        judged = UNKNOWN if each.good_enough is None else "good enough" if each.good_enough else "too coarse"
        rows.append(
            [
                each.gauge,
                f"0 to {say(each.span, 'pressure', units)}",
                f"± {say(each.error, 'pressure', units)}",
                NONE if each.error_allowed is None else f"± {say(each.error_allowed, 'pressure', units)}",
                judged,
                "bears the inlet" if each.bears_inlet else "not on the inlet side",
            ]
        )
    return rows


def defaults(sheet: DesignSheet, units: UnitSet) -> list[list[str]]:
    """Return each default that stands in for a value nobody stated: where, what, value, evidence."""
    rows = []
    for each in sheet.defaults:
        kind, evidence = each.kind, each.provenance.removeprefix("default, ")
        as_printed = kind == "ratio" or (units.unit(kind) == METRIC.unit(kind) and not units.shows_both(kind))
        head, _, tail = evidence.partition(": ")
        if kind == "compressibility":
            value = say(each.si, kind, units)
        elif _POWER.search(each.text):
            value = say_short(each.si, kind, units)
        else:
            value = each.text if as_printed else say(each.si, kind, units, FINE_DIGITS)
        place, dot, _ = each.where.partition(".")
        rows.append(
            [
                place if dot and place.islower() else each.where,
                _COEFFICIENT.sub(units.unit("flow_coefficient"), each.what),
                value,
                head if head == tail else evidence,
            ]
        )
    return rows


def remedy(each: Remedy, units: UnitSet) -> dict[str, Any]:
    """Return one remedy: what to do, the window it opens, what to look at first, the change of the file."""
    return {
        "words": each.words,
        "caution": each.caution,
        "window": between(each.lowest, each.highest, "pressure", units),
        "gain": say(each.gain, "pressure", units),
        "patches": [
            f"{'.'.join(map(str, patch.path))}: {'taken out' if patch.value is None else patch.value}"
            for patch in each.patches
        ],
    }
