"""Surge runs as rows of a table: what the component nearest its limit sees, when, and the verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steadyhead.units import UnitSet, bare, bare_beside

if TYPE_CHECKING:
    from steadyhead.records.surge import SurgeRun

HEADS = ("event", "sees", "bears", "where", "lowest", "trips", "shut", "")
NONE = "–"


def cells(run: SurgeRun, name: str, units: UnitSet) -> list[str]:
    """Return a run as the cells of a row, in the order of `HEADS`."""
    near = run.nearest
    sees = near.sees_at_datum if near is not None else run.consumer.judged_at_datum
    lowest = min(run.consumer.lowest, run.supply.lowest)
    return [
        name,
        *(
            (bare(sees, "pressure", units), NONE)
            if near is None
            else bare_beside((sees,), near.limit_at_datum, "pressure", units)
        ),
        _where(run, units),
        bare(lowest, "pressure", units),
        *_times(run),
        verdict(run),
    ]


def _where(run: SurgeRun, units: UnitSet) -> str:
    side = run.nearest.side if run.nearest is not None else "consumer"
    if side == "between":
        return "between"
    if side == "outlet":
        return run.outlet
    high = run.highest("supply" if side == "inlet" else "consumer")
    if high is None:
        return NONE
    unit = units.first
    return f"{bare(high.distance, 'length', unit, 0)} {unit.unit('length')}"


def _times(run: SurgeRun) -> tuple[str, str]:
    first = next((one for one in run.shut_offs if one.trip is not None), None)
    if first is None or first.trip is None:
        return NONE, NONE
    shut = NONE if first.closing is None else f"+{first.closing:.1f} s"
    return f"{first.trip - run.event_at:.1f} s", shut


def verdict(run: SurgeRun) -> str:
    """Return how a run stands to its limits, in two words."""
    over = [one for one in run.limits if one.verdict == "over"]
    uncredited = ", uncredited" if run.is_uncredited else ""
    if any(one.begun_at_datum <= one.limit_at_datum for one in over):
        return f"over{uncredited}" if uncredited else "exceeded"
    if any(one.is_rebound_over for one in run.limits):
        return f"thrown back{uncredited}" if uncredited else "thrown back over it"
    if run.is_separated or run.unjudged:
        return "no verdict"
    if over:
        return "exceeded before"
    return "inside" if run.limits else "no limit"
