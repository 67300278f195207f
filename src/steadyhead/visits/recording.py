"""What a plan tells the judge of its run: limits of the job, what readings carry, what is never accepted.

The judge knows nothing of valves; everything of this station that it decides by stands here as data.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace

from steadyhead.design import defaults as dd
from steadyhead.design.tolerances import stated_or_share
from steadyhead.records.parts import IsolatingValve
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Expression, Input, Node, Otherwise, Procedure
from steadyhead.records.station import Station
from steadyhead.station.layout import read_layout
from steadyhead.station.streams import views
from steadyhead.visits.advising.tables import advising
from steadyhead.visits.facts import trip_repeatability
from steadyhead.visits.reliefs import relief_error, stands_in
from steadyhead.visits.serving import served
from steadyhead.visits.several.ways import has_several
from steadyhead.visits.spans import monitor
from steadyhead.visits.windows import CLOSING

LIMITS: Mapping[str, str] = {
    "duty": "pressure",
    "duty_flow": "flow",
    "trickle": "pressure",
    "trickle_flow": "flow",
    "lockup": "pressure",
    "alarm": "pressure",
    "trip": "pressure",
    "trip_low": "pressure",
    "trip_high": "pressure",
    "reset": "pressure",
    "repeatability": "pressure",
    "tolerance_up": "pressure",
    "test_limit": "pressure",
    "test_limit_between": "pressure",
    "instrument_error": "pressure",
    "raising_turns": "turns",
    "inlet_turns": "turns",
    "inlet": "pressure",
    "stopwatch_from": "time",
    "stopwatch_to": "time",
}
"""Limits of a plan by name with their kind of quantity. Settings and the band of the trip are as the gauge of
their tap reads them, test limits at station datum. Of several streams each has its own, ``NAME@STREAM``."""

NEVER_PROOFS = (
    "acts", "trip", "closing", "accepted", "told", "sees", "crack", "reseat", "stands_in", "flow_told",
    "compared", "released", "covered", "duty", "holds",
)  # fmt: skip
"""Aspects without which the protective function is not proved (handbook 3.3, minimum certificate)."""
NEVER_ITEMS = ("out_of_way", "root_shut", "cut_off", "fire_cover", "alarm_test")
"""Protection out of action, fire cover impaired, alarm suppressed: nobody leaves a station so."""
NEVER_STEPS = ("A4", "C1F", "R8")
"""Air that can be breathed; pilots left as they were proved; after a trip: back only where it may go back."""
AFTER = ("K1", "K2")
TELLS = (
    "RS7T.failed", "RS6.a", "RS6.c_nothing", "RS6.d", "RS6.e", "RS6.f_sound",
    "F3.first_high", "G5.off", "Y1.differs", "Y3.drift", "Y4.not_valid", "Y4.out_of_band", "Y4.wide",
    "RS4.passes", "B1.none", "H2.first_low", "H4.hysteresis", "J3.critical_low",
    "H6.left", "H6.follows", "RS10.not_known", "RS10.unseen", "RS2.runs_dry",
)  # fmt: skip
"""Meanings that are worth knowing and forbid nothing: as found, or inside the tolerance."""
INSTEAD = dict.fromkeys(("RS7R.over", "RS7R.runs", "RS7T.fails", "RS7T.failed", "RSJ.second"), "R8")
"""Meanings after which a step is not gone through again, and the choice that is the way on."""
TRACED = ("gauge", "setting gauge")
SETTING = "setting gauge"

UNLESS: Mapping[tuple[str, str], Expression] = {
    ("B2", "leak"): {
        "all": [{"eq": [{"value": "inlet_runs"}, False]}, {"eq": [{"value": "outlet_runs"}, False]}]
    },
    ("D4", "full"): {"eq": [{"value": "fitted"}, False]},
    ("ES2", "needles"): {"eq": [{"value": "stable"}, True]},
    **{(base, "duty"): {"given": "trickle"} for base in ("H1", "Y7")},
    **{(base, "trickle"): {"given": "duty"} for base in ("H1", "Y7")},
    **{
        ("H6", name): {"eq": [{"value": "done"}, False]}
        for name in ("T1.first", "T3.first", "T1.last", "T3.last")
    },
}
"""Inputs that may be left out, by step and name, and where."""


def recorded(procedure: Procedure, station: Station, numbers: PlanNumbers) -> Procedure:
    """Return the plan with everything the judge of its run needs to know.

    Parameters
    ----------
    procedure
        The plan.
    station, numbers
        What it was written from.
    """
    errors = {stream: own.setting_gauge_error for stream, own in numbers.streams.items()}
    errors[""] = numbers.setting_gauge_error or min((e for e in errors.values() if e > 0.0), default=0.0)
    errors[""] = errors[""] or _relief_error(station) or _reducer_error(station)
    nodes = tuple(
        served(_node(node, errors.get(procedure.streams.get(node.id, "")) or errors[""]), station, numbers)
        for node in procedure.nodes
    )
    names = {name for node in nodes for name in (*node.proves, *node.opens)}
    gates = {part.id for part in station.parts() if isinstance(part, IsolatingValve)}
    steps = {node.id for node in nodes if _base(node) in NEVER_STEPS}
    return replace(
        procedure,
        nodes=nodes,
        limits=dict(limits(station, numbers)),
        never=frozenset(name for name in names if _is_never(name, gates)) | steps,
        after=tuple(node.id for node in nodes if _base(node) in AFTER),
        advice=advising(nodes, station, numbers),
    )


def limits(station: Station, numbers: PlanNumbers) -> Iterator[tuple[str, float]]:
    """Yield the limits of a job by name (`LIMITS`); of several streams those of each."""
    if not has_several(station):
        yield from _limits(station, numbers)
        return
    for view in views(station):
        own = numbers.streams.get(view.id)
        if own is not None:
            for name, value in _limits(view.station, own):
                yield f"{name}@{view.id}", value


def _limits(station: Station, numbers: PlanNumbers) -> Iterator[tuple[str, float]]:
    layout = read_layout(station)
    reading = numbers.target_reading
    for name in ("duty", "trickle", "lockup", "alarm", "trip", "trip_low", "trip_high", "reset"):
        if name in reading:
            yield name, reading[name]
    yield "trickle_flow", numbers.trickle_flow
    yield "inlet", station.supply.typical.si
    if layout.reducers:
        yield "duty_flow", layout.reducers[-1].duty.flow.si
    if layout.shut_off is not None and layout.shut_off.trip is not None:
        yield "repeatability", trip_repeatability(layout.shut_off)
        if "outlet" in numbers.test_limit and {"trip", "trip_high"} <= set(reading):
            yield "tolerance_up", reading["trip_high"] - reading["trip"]
    for name, section in (("test_limit", "outlet"), ("test_limit_between", "between")):
        if section in numbers.test_limit:
            yield name, numbers.test_limit[section]
    if numbers.setting_gauge_error > 0.0:
        yield "instrument_error", numbers.setting_gauge_error
    opened = [one.turns for one in numbers.inlet_opening.values() if one.turns is not None]
    if opened:
        yield "raising_turns", min(opened)
    if layout.inlet_valve is not None and layout.inlet_valve.turns is not None:
        yield "inlet_turns", layout.inlet_valve.turns.si
    if CLOSING in numbers.bands:
        yield "stopwatch_from", numbers.bands[CLOSING].low
        yield "stopwatch_to", numbers.bands[CLOSING].high


def _relief_error(station: Station) -> float:
    """Return the most a gauge may err by which a relief valve is proved that stands in for a shut-off. [Pa]

    As much as its crack may be off: what errs more tells nothing of it. 0 without such a valve.
    """
    layout = None if has_several(station) else read_layout(station)
    return 0.0 if layout is None else min(map(relief_error, stands_in(layout)), default=0.0)


def _reducer_error(station: Station) -> float:
    """Return the most a gauge may err by which a station without shut-off or relief valve is proved. [Pa]

    As much as the pilot repeats within that limits the outlet, of the monitor where there is one: what errs
    more tells nothing of it. Own estimate, by the reasoning of a relief valve.
    """
    found = []
    for part in (view.station for view in views(station)) if has_several(station) else (station,):
        layout = read_layout(part)
        if not layout.reducers:
            continue
        valve = monitor(layout) or layout.reducers[-1]
        repeat, _ = stated_or_share(
            valve.repeatability, dd.REDUCER_REPEATABILITY, dd.REDUCER_REPEATABILITY_SHARE,
            valve.duty.pressure.si,
        )  # fmt: skip
        found.append(repeat)
    return min(found, default=0.0)


def _node(node: Node, error: float) -> Node:
    flowing = {name for one in node.refuses for name in _with_flow(one.when)}
    inputs = tuple(_input(node, one, error, says_flow=one.name in flowing) for one in node.inputs)
    return replace(node, inputs=inputs, otherwise=tuple(_otherwise(one) for one in node.otherwise))


def _with_flow(expression: object) -> Iterator[str]:
    """Yield the readings of whose flow a predicate asks: without it nobody knows what they show."""
    if isinstance(expression, Mapping):
        asked = expression.get("carried")
        if isinstance(asked, list | tuple) and asked[1] == "flow" and isinstance(asked[0], str):
            yield asked[0]
        expression = list(expression.values())
    if isinstance(expression, list | tuple):
        for part in expression:
            yield from _with_flow(part)


def _input(node: Node, one: Input, error: float, *, says_flow: bool) -> Input:
    pressure = one.quantity == "pressure"
    settles = pressure and one.instrument == SETTING
    return replace(
        one,
        traced=pressure and one.instrument in TRACED,
        error_most=error if settles else 0.0,
        carries=("flow",) if (settles and one.tap and node.proves) or says_flow else (),
        unless=UNLESS.get((_base(node), one.name), one.unless),
        worked=one.worked if one.worked is not None else _middle(node, one),
    )


def _middle(node: Node, one: Input) -> Expression | None:
    """Return the middle of the interval in which a run acted: last hold without action, reading at action."""
    name, _, run = one.name.partition(".")
    hold, act = (f"{part}.{run}" if run else part for part in ("hold", "act"))
    if name != "mid" or not {hold, act} <= {other.name for other in node.inputs}:
        return None
    return {"div": [{"add": [{"value": hold}, {"value": act}]}, 2]}


def _otherwise(one: Otherwise) -> Otherwise:
    text = one.meaning.id.removesuffix(".means")
    return replace(one, tells=one.tells or text in TELLS, instead=INSTEAD.get(text, ""))


def _is_never(name: str, gates: Collection[str]) -> bool:
    """Return whether a proof or restore item is one nobody may do without; tightness: of isolating valves."""
    part, _, aspect = name.partition("@")[0].rpartition(".")
    if aspect == "tight":
        return part in gates
    return aspect in (*NEVER_PROOFS, *NEVER_ITEMS)


def _base(node: Node) -> str:
    return node.id.partition(".")[0].partition("@")[0]
