"""A baseline as text for a terminal: what was measured, beside what stood there; what is still open."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.cli.showing import finding_lines, paragraph
from steadyhead.records.baseline import TAKEN, Baseline, Fitted
from steadyhead.services.baselines import FittedRun
from steadyhead.units import UnitSet, say, say_short
from steadyhead.visits.fitting.words import NAMES, share

FOOT = (
    "Intervals hold the true value with 95 % if gauges, meter and stopwatch are as good as stated and the "
    "valves follow the laws of the twin. They say nothing of tomorrow: drift and repeatability come on top."
)


def fitted_text(found: FittedRun, units: UnitSet) -> str:
    """Return a baseline with its findings as text."""
    baseline = found.baseline
    lines = [f"{baseline.station_id}: baseline of run {baseline.run}"]
    if baseline.fitted:
        lines += [paragraph(f"Valid from {baseline.valid_from}."), ""]
        lines += [line for one in baseline.fitted for line in _fitted(one, units)]
    lines += _together(baseline)
    if found.findings:
        lines += ["", *(finding_lines(finding, units) for finding in found.findings)]
    return "\n".join([*lines, "", paragraph(FOOT)]) + "\n"


def _fitted(one: Fitted, units: UnitSet) -> Iterator[str]:
    value = say_short(one.value, one.kind, units)
    yield paragraph(
        f"{one.part}: {NAMES[one.name]} {value} ± {share(one.within, one.value)}", indent=6, first="  "
    )
    told = [f"{one.readings} readings at {', '.join(one.steps)}"]
    told += _state(one, units)
    if one.former is not None:
        told.append(f"before {say_short(one.former, one.kind, units)}, {one.former_from}")
    if one.name not in TAKEN:
        told.append("kept for comparison; the twin takes nothing from it")
    yield paragraph(f"{'; '.join(told)}.", indent=6)


def _state(one: Fitted, units: UnitSet) -> Iterator[str]:
    state = one.state
    if "loss_factor" in state:
        yield f"loss {say_short(state['loss_factor'], 'loss_factor', units)}"
        yield (
            f"{say(state['loss_at_highest_flow'], 'pressure', units)} at "
            f"{say(state['highest_flow'], 'flow', units)}"
        )
    if "time" in state:
        inlet, flow = say(state["inlet_pressure"], "pressure", units), say(state["flow"], "flow", units)
        yield f"shuts in {say(state['time'], 'time', units)} from {inlet} at {flow}"
    if "to_flow" in state:
        yield f"from {say(state['from_flow'], 'flow', units)} to {say(state['to_flow'], 'flow', units)}"
    if one.name == "sag":
        yield f"to {say(state['highest_flow'], 'flow', units)}"


def _together(baseline: Baseline) -> list[str]:
    if not baseline.correlations:
        return []
    told = [f"{one.one} and {one.other} ({one.value:+.2f})" for one in baseline.correlations]
    return [paragraph(f"  Err together: {', '.join(told)}.", indent=6)]
