"""Puts the signature of each step together: readings, curves, causes with their words, what is not told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from steadyhead.hydraulics import Model
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Kind, Message, Node
from steadyhead.records.signature import AS_EXPECTED, Axis, Cause, Curve, Grade, Reads, Signature
from steadyhead.station.mechanics import pressure_per_turn
from steadyhead.visits.drains import outlet_drain
from steadyhead.visits.gauging import Tap
from steadyhead.visits.signatures import defaults as d
from steadyhead.visits.signatures.base import DESIGN, Base, at_datum
from steadyhead.visits.signatures.beside import PLAIN, Plain, moved, plain_causes, plain_curves
from steadyhead.visits.signatures.faults import Fault, faults
from steadyhead.visits.signatures.slips import slips
from steadyhead.visits.signatures.states import TWIN, Site
from steadyhead.visits.signatures.steps import Line, reads_of
from steadyhead.visits.signatures.tables import Crowd, differs
from steadyhead.visits.texts.causes import fields

ROWS = range(1, 67)
AS_FOUND = "trip_mid/T3"
"""Curve of a trip before its screw is turned."""
SOON = ("trickle", "lockup")
"""States that are always worked out: an isolated gauge may show them, a running drain brings one to the
other."""
_AFTER_SETTING = {24, 25, 40}
"""Rows that are out of play once the reducer has been set with the gauge that is read."""
_RAISED = {23, 24, 25, 39, 40}
"""Rows that are out of play where the reading itself is what the screw is turned to."""
_SET = ("trickle_set", "lockup_set", "duty", "flow", "monitor_set", "monitor_lockup_set")
_REASONS = {
    "time": (14, 15, 16, 17, 20, 38, 49, 56),
    "streams": (13, 18, 19),
    "seen": (37, 42, 46, 50, 51, 54),
    "outside": (34,),
    "other": (41,),
}
"""Why a row is never told by a reading of the line at rest or in steady flow."""


@dataclass(frozen=True)
class Known:
    """A cause with its severities as curves."""

    fault: Fault
    grades: tuple[Grade, ...]
    on: str = ""


def of_line(
    model: Model,
    numbers: PlanNumbers,
    taps: Mapping[str, Tap],
    kind: Kind,
    nodes: Iterable[Node],
    draws: int = d.DRAWS,
    *,
    twin: bool = True,
    base: Base = DESIGN,
) -> dict[str, Signature]:
    """Return the signatures of the steps of one line, by step id; steps without a known band have none.

    Parameters
    ----------
    model
        Of the line.
    numbers
        Its figures.
    taps
        By role, with gauges.
    kind
        Of the visit.
    nodes
        Steps on this line.
    draws
        Drawn stations behind every curve.
    twin
        Whether states the twin is asked for count; else only those with a band of the plan alone.
    base
        Values as left, as read at their taps.

    Raises
    ------
    InputError
        The station has no reducer.
    """
    line = Line(model.layout, numbers, model.station.demand.average.si)
    steps = {node.id: reads_of(node, line) for node in nodes}
    if not twin:
        steps = {
            step: tuple(r for r in reads if r.state.partition(".")[0] in PLAIN)
            for step, reads in steps.items()
        }
        steps = {step: reads for step, reads in steps.items() if reads}
    if not any(steps.values()):
        return {}
    states = {one.state for reads in steps.values() for one in reads}
    wanted = [state for state in TWIN if twin and (state in states or state in SOON)]
    share = min((opening.share for opening in numbers.inlet_opening.values()), default=1.0)
    left = at_datum(base, model, taps)
    site = Site(model, share, numbers.trickle_flow, numbers.flow_points, numbers.outlet_storage, left)
    listed = faults(model)
    crowd = Crowd(site, taps, draws)
    tables = crowd.tables(wanted, [change for fault in listed for change in fault.changes])
    curves = {**_as_left(plain_curves(numbers), base, model), **tables.sound}
    graded = zip(tables.changed, tables.most, strict=True)
    known = [Known(fault, tuple(Grade(*next(graded)) for _ in fault.changes)) for fault in listed]
    known += [Known(fault, grades) for fault, grades in plain_causes(Plain(model, numbers, curves))]
    bench = Bench(site, curves, known, taps, kind, base.on)
    found = {step: bench.signature(step, reads) for step, reads in steps.items()}
    return {step: one for step, one in found.items() if one is not None}


def _as_left(curves: dict[str, Curve], base: Base, model: Model) -> dict[str, Curve]:
    """Return the curves of a trip as found, and of turns, where values as left differ from the design."""
    shut_off = model.layout.shut_off
    trip = base.trips.get(shut_off.id) if shut_off is not None else None
    if trip is not None and AS_FOUND in curves:
        curves[AS_FOUND] = moved(curves[AS_FOUND], to=trip)
    for reducer in model.layout.reducers:
        key, found = f"turns/{reducer.id}", base.per_turn.get(reducer.id, 0.0)
        if key in curves and found > 0.0:
            curves[key] = moved(curves[key], factor=pressure_per_turn(reducer.pilot).si / found)
    return curves


@dataclass(frozen=True)
class Bench:
    """What the signatures of one line, or of all streams, are put together from."""

    site: Site
    curves: Mapping[str, Curve]
    known: Sequence[Known]
    taps: Mapping[str, Tap]
    kind: Kind
    on: str = ""

    def signature(self, step: str, reads: Sequence[Reads]) -> Signature | None:
        """Return the signature of one step; None where no curve of its readings is known."""
        reads = tuple(one for one in reads if one.key in self.curves)
        if not reads:
            return None
        keys = list(dict.fromkeys(one.key for one in reads))
        states = list(dict.fromkeys(one.state for one in reads))
        name, tell, then, high = self._words("0.left" if self.on else "0", {"on": self.on})
        healthy = Cause(AS_EXPECTED, 0, d.HEALTHY, (Grade(),), ((0, 0),), name, tell, then, high=high)
        told = [cause for one in self._all(keys) if (cause := self._cause(one, keys, states)) is not None]
        rows = {cause.row for cause in told}
        return Signature(
            step,
            tuple(Axis(state, self.site.flows(state)) for state in states),
            reads,
            {key: self.curves[key] for key in keys},
            (healthy, *told),
            tuple((row, self._reason(row)) for row in ROWS if row not in rows),
        )

    def _all(self, keys: list[str]) -> Iterator[Known]:
        yield from self.known
        for fault, grades, on in slips(self.curves, keys, self.taps, self.site.model.density):
            yield Known(fault, grades, on)

    def _cause(self, known: Known, keys: list[str], states: list[str]) -> Cause | None:
        fault = known.fault
        slip = known.on != ""
        grades, seen = [], []
        for grade in known.grades:
            curves = {
                key: curve
                for key, curve in grade.curves.items()
                if key in keys and _in_play(fault.row, key) and differs(curve, self.curves[key])
            }
            most = {state: bound for state, bound in grade.most.items() if state in states}
            grades.append(Grade(curves, most, grade.factor, grade.offset))
            seen.append(slip or bool(curves) or bool(most))
        spans = tuple(pair for pair in fault.spans if seen[pair[0]] or seen[pair[1]])
        if not spans:
            return None
        weight = d.WEIGHTS[fault.weight][0 if self.kind in d.FRESH else 1]
        name, tell, then, high = self._words(fault.text, fault.words)
        told = tuple(grades)
        return Cause(fault.id, fault.row, weight, told, spans, name, tell, then, on=known.on, high=high)

    def _words(self, text: str, words: Mapping[str, str]) -> tuple[Message, Message, Message, Message]:
        line = self.site.model.layout
        drain, inlet, outlet = outlet_drain(line), line.inlet_valve, line.outlet_valve
        taps = {role: tap.id for role, tap in self.taps.items()}
        common = {
            "td": drain.id if drain is not None else "",
            "iv1": inlet.id if inlet is not None else "",
            "iv2": outlet.id if outlet is not None else "",
            "t3": taps.get("T3", "T3"),
        }
        if "place" in words:
            common["tap"] = taps.get(words["place"], words["place"])
        params = {**common, **words}
        made = []
        for part in ("name", "tell", "then", "high"):
            name = f"cause.{text}.{part}"
            made.append(Message(name, {field: params[field] for field in sorted(fields(name))}))
        return made[0], made[1], made[2], made[3]

    def _reason(self, row: int) -> str:
        for reason, rows in _REASONS.items():
            if row in rows:
                return reason
        own = {one.fault.row for one in self.known} | {26, 27}
        return "same" if row in own else "part"


def _in_play(row: int, key: str) -> bool:
    state = key.partition("/")[0]
    if state == "at_trip":
        return row not in _RAISED
    return row not in _AFTER_SETTING or state not in _SET
