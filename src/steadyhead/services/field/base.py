"""What the causes of a visit start from: the newest certificate before it, or the design."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from typing import Any

from sqlalchemy import Connection

from steadyhead.records.baseline import Baseline
from steadyhead.records.procedure import Procedure
from steadyhead.reports.figures import half_mm
from steadyhead.reports.foot import day_in_words
from steadyhead.services.visits_kept.filing import filed
from steadyhead.visits.signatures.base import DESIGN, Base, for_visit

BY_DESIGN = "Expected readings start from the design."
BY_LEFT = "Expected readings start from the values as left on {on}: {what}."
BY_HEIGHT = " Screws stood at: {what}."
BY_BASELINE = " Losses, droop and bar per turn are those measured, {day}."
_KINDS = {"duty": "duty", "lockup": "lock-up", "trip": "trip"}


def base_of(connection: Connection, key: str, run: str, procedure: Procedure) -> Base:
    """Return the values the newest certificate before a visit left, as far as they are still so at it."""
    every = [
        one
        for one in filed(connection, key, ("certificate",))
        if not one.struck and one.run != run and "record" in one.about
    ]
    if not every:
        return DESIGN
    last = max(every, key=lambda one: (str(one.about.get("signed_at") or one.about.get("day", "")), one.at))
    return for_visit(left_by(last.about["record"]), procedure.kind, procedure.item)


def left_by(record: Mapping[str, Any]) -> Base:
    """Return the values the record of a certificate left, numbers short so that the same stay the same."""
    found: dict[str, dict[str, Any]] = {"duty": {}, "lockup": {}, "trip": {}}
    for one in record["settings"]:
        valve, _, what = str(one["key"]).partition("@")[0].rpartition(".")
        noted = one["as_left"]
        if what not in found or noted is None or not isinstance(noted["value"], int | float):
            continue
        value, flow = float(f"{noted['value']:.7g}"), noted.get("flow")
        short = float(f"{flow:.5g}") if isinstance(flow, int | float) and flow > 0.0 else None
        found[what][valve] = (value, short) if what == "duty" else value
    on = day_in_words(date.fromisoformat(record["day"]))
    turns = {str(one["valve"]): float(f"{one['value']:.4g}") for one in record.get("per_turn", ())}
    return Base(on, found["duty"], found["lockup"], found["trip"], turns, _heights(record))


def _heights(record: Mapping[str, Any]) -> dict[str, float]:
    """Return how far each screw stands out, by valve. [m]"""
    noted = [(str(one["key"]).partition(".")[0], one.get("height")) for one in record["settings"]]
    heights = {valve: one["value"] for valve, one in noted if one is not None}
    return {name: float(f"{high:.4g}") for name, high in heights.items() if isinstance(high, int | float)}


def plain_base(base: Base) -> dict[str, Any]:
    """Return a base as plain data."""
    return {name: value for name, value in asdict(base).items() if value}


def base_words(base: Base, baseline: Baseline | None) -> str:
    """Return what the expected readings start from, in words."""
    measured = "" if baseline is None else BY_BASELINE.format(day=_day(baseline))
    if base.is_design:
        return BY_DESIGN + measured
    rows = (("duty", base.duties), ("lockup", base.lockups), ("trip", base.trips))
    told = [f"{_KINDS[name]} of {valve}" for name, found in rows for valve in found]
    told += [f"bar per turn of {valve}" for valve in base.per_turn]
    heights = ", ".join(f"{valve} {half_mm(high):g} mm" for valve, high in base.heights.items())
    screws = BY_HEIGHT.format(what=heights) if heights else ""
    return BY_LEFT.format(on=base.on, what=", ".join(told)) + screws + measured


def _day(baseline: Baseline) -> str:
    try:
        return day_in_words(date.fromisoformat(baseline.day))
    except ValueError:
        return baseline.day
