"""Bands of stability and chances in words."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from steadyhead.cli.progress import say as tell
from steadyhead.cli.progress import watched
from steadyhead.cli.showing import finding_lines, paragraph, show_json
from steadyhead.cli.surge_text import FOOT
from steadyhead.services.studies.stability_words import (
    IDLE,
    air_words,
    fit_words,
    flow_cells,
    limit_words,
    moved_words,
    quiet_words,
    runs_words,
    weights_words,
)
from steadyhead.units import UnitSet

if TYPE_CHECKING:
    from steadyhead.records.stability import FlowStability, ReducerStability
    from steadyhead.services.chances import ChancesAnswer
    from steadyhead.services.stability import StabilityAnswer
    from steadyhead.work import Executor

STOPPED = 130


def do_stability(file: str, way: str, seed: int, json: bool, units: str) -> int:
    """Show how quiet the reducers of a file are."""
    from steadyhead.cli.commands import read_source, units_for
    from steadyhead.services.stability import run_stability, stability_data

    mine, source = units_for(units), read_source(file)
    with watched() as shown:
        answer = run_stability(source, _named(file), way, seed=seed, progress=shown, cancel=shown.cancel)
        stopped = shown.cancel()
    if json:
        show_json(stability_data(answer))
    else:
        print(stability_text(answer, mine))
    return _ended(stopped=stopped)


def _ended(*, stopped: bool) -> int:
    """Say that somebody stopped the work, where he did; return the exit status."""
    if stopped:
        tell("Stopped: the rest was not run.")
    return STOPPED if stopped else 0


def do_chances(
    file: str, event: str, way: str, runs: int, seed: int, keep: str, cluster: str, json: bool, units: str
) -> int:
    """Run an event many times and show how often limits are passed."""
    from steadyhead.cli.commands import read_source, units_for
    from steadyhead.services.chances import chances_data, run_chances
    from steadyhead.services.first_use import tell_first_use

    mine, source = units_for(units), read_source(file)
    tell_first_use(tell)
    executor, close = _executor(cluster)
    try:
        with watched() as shown:
            answer = run_chances(
                source, _named(file), event, runs, seed, way, keep=keep, executor=executor,
                progress=shown, cancel=shown.cancel,
            )  # fmt: skip
            stopped = shown.cancel()
    finally:
        close()
    if json:
        show_json(chances_data(answer))
    else:
        print(chances_text(answer, mine))
    return _ended(stopped=stopped)


def _named(file: str) -> str:
    return "standard input" if file == "-" else file


def _executor(cluster: str) -> tuple[Executor | None, Callable[[], None]]:
    if not cluster:
        return None, lambda: None
    from steadyhead.services.cluster import Cluster

    made = Cluster(cluster)
    return made, made.close


def stability_text(answer: StabilityAnswer, units: UnitSet) -> str:
    """Return the bands in words."""
    who = answer.loaded.station.station
    lines = [f"{who.name} ({who.id}): stability", ""]
    for one, air in zip(answer.bands.reducers, answer.bands.air, strict=True):
        lines += [*_reducer(one, units), paragraph(air_words(air, units)), ""]
    if answer.bands.findings:
        lines += ["Findings", *(finding_lines(finding, units) for finding in answer.bands.findings), ""]
    return "\n".join([*lines, paragraph(FOOT)])


def _reducer(one: ReducerStability, units: UnitSet) -> list[str]:
    head = f"{one.reducer}{', ' + one.way if one.way else ''}, {one.inlet_case} inlet pressure"
    if one.is_idle:
        return [head, "", paragraph(IDLE)]
    table = [
        f"  {'flow':<22} {'lift':>6}  {'hunts in':>8}  {'gain margin':>18}  {'phase margin':>20}",
        *(_flow(flow, units) for flow in one.at),
    ]
    fit = [] if one.fit is None else [paragraph(fit_words(one.fit))]
    return [head, "", *table, "", paragraph(quiet_words(one, units)), *fit, paragraph(moved_words(one))]


def _flow(flow: FlowStability, units: UnitSet) -> str:
    name, lift, hunting, gain, phase = flow_cells(flow, units)
    return f"  {name:<22} {lift:>6}  {hunting:>8}  {gain:>18}  {phase:>20}"


def chances_text(answer: ChancesAnswer, units: UnitSet) -> str:
    """Return the chances in words."""
    who, one = answer.loaded.station.station, answer.chances
    lines = [f"{who.name} ({who.id}): {one.event} within the tolerances", "", paragraph(runs_words(one)), ""]
    for limit in one.limits:
        lines += [
            paragraph(limit_words(limit, units)),
            paragraph(weights_words(limit, one.noise), indent=4),
            "",
        ]
    if one.unjudged:
        told = f"{', '.join(one.unjudged)}: not judged, for no supply main is stated (SUR-63)."
        lines += [paragraph(told), ""]
    elif not one.limits:
        lines += [paragraph("No limit in a fault is stated on a side this event reaches."), ""]
    if one.findings:
        lines += ["Findings", *(finding_lines(finding, units) for finding in one.findings), ""]
    return "\n".join([*lines, paragraph(FOOT)])
