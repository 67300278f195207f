"""The readings of a run as the fit sees them: at the datum, with their errors, in the order of judging."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

from steadyhead.procedure.expression import Scalar
from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.record import Record, Row, lay
from steadyhead.procedure.touching import Touch, touches
from steadyhead.records.baseline import LeftOut, Reason
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Node, Procedure
from steadyhead.records.run import Judgement
from steadyhead.records.station import Station
from steadyhead.station.elevation import to_level
from steadyhead.station.streams import View
from steadyhead.visits import defaults as vd
from steadyhead.visits.fitting import defaults as d
from steadyhead.visits.questions import tap_of_role

COUNTED = ("open", "done", "accepted")
"""Steps whose readings count: a refused one proves nothing."""
MILD = frozenset(("RUN-07", "RUN-10", "RUN-53"))
"""Reasons that leave readings true: something still to be noted, another order, no protection behind it."""
STROKE = frozenset(("RUN-08", "RUN-14"))
"""Of a stroke besides: what was seen lies outside its band."""
STROKES = ("F1", "F2", "F3", "Y4", "Y6", "Y6T")


@dataclass(frozen=True, slots=True)
class Error:
    """How far an instrument may be wrong: in all readings and in one of them, standard deviations. [SI]"""

    common: float
    reading: float


@dataclass(frozen=True, slots=True)
class Taken:
    """One reading.

    Parameters
    ----------
    entry, node, input
        Where it stands.
    at
        Place in the order of judging.
    role
        Of the tap it was taken at, for a pressure; empty for what is taken at none.
    value
        Pressure at the datum; else as noted. [SI]
    sigma
        Standard deviation of this one reading: reading the dial, and how still it stood. [SI]
    gauge, common
        Instrument, and the standard deviation of the error it has in all its readings. [SI]
    flow, flow_meter
        Flow at that time [m³/s], with what; None: not noted.
    """

    entry: str
    node: str
    input: str
    at: int
    role: str
    value: float
    sigma: float
    gauge: str
    common: float
    flow: float | None
    flow_meter: str

    @property
    def number(self) -> str:
        """What stands behind the name of its input: ``3`` of ``T0.3``; empty where nothing does."""
        return self.input.partition(".")[2]

    @property
    def base(self) -> str:
        """Step of the handbook: ``F1`` of ``F1.SO@main``."""
        return _base(self.node)


def _base(node: str) -> str:
    return node.partition(".")[0].partition("@")[0]


class Readings:
    """The readings of one way through a station, out of the standing entries of a run."""

    def __init__(
        self,
        view: View,
        procedure: Procedure,
        judgement: Judgement,
        standing: Iterable[Entry],
        density: float,
    ) -> None:
        self.view, self.procedure, self.density = view, procedure, density
        self.record: Record = lay(procedure, standing)
        self.states = {step.id: step.state for step in judgement.steps}
        self.refused: dict[str, frozenset[str]] = {}
        for block in judgement.blocks:
            about = block.remark.about
            self.refused[about] = self.refused.get(about, frozenset()) | {block.remark.code}
        self.roles = {tap: role for role, tap in tap_of_role(view.layout).items()}
        self.heights = {
            part.id: part.height.si
            for section in view.layout.sections
            for part in section.taps
            if part.height is not None
        }

    @property
    def station(self) -> Station:
        """The station with only this way."""
        return self.view.station

    @cached_property
    def nodes(self) -> Mapping[str, Node]:
        """Steps on this way that count, by id."""
        streams = self.procedure.streams
        return {
            node.id: node
            for node in self.procedure.nodes
            if (streams.get(node.id, "") in ("", self.view.id)) and self._counts(node.id)
        }

    def _counts(self, node: str) -> bool:
        """Say whether the readings of a step are true: it counts, or only its place or its pace was amiss.

        A step done too early or without its protection is refused, and so is a stroke outside its window;
        what the gauge and the stopwatch showed is true all the same.
        """
        why = self.refused.get(node, frozenset())
        mild = MILD | (STROKE if _base(node) in STROKES else frozenset())
        return self.states.get(node) in COUNTED or bool(why and why <= mild)

    @cached_property
    def all(self) -> tuple[Taken, ...]:
        """Every reading that is a number, in order; swinging ones are not among them."""
        found = (self._taken(row) for row in self.record.rows)
        return tuple(one for one in found if one is not None)

    @cached_property
    def swinging(self) -> tuple[LeftOut, ...]:
        """Readings that are left out because they swing."""
        return tuple(
            LeftOut(row.entry.id, row.entry.node, row.input, float(value), row.text("quantity"), "swings")
            for row in self.record.rows
            if row.entry.kind == "reading"
            and row.entry.payload.get("swing")
            and is_number(value := row.entry.payload.get("value"))
            and row.entry.node in self.nodes
        )

    @cached_property
    def trickle(self) -> float:
        """Most flow that counts as trickle. [m³/s]"""
        named = f"trickle_flow@{self.view.id}" if self.view.id else "trickle_flow"
        limits = self.procedure.limits
        plan = limits.get(named, limits.get("trickle_flow", 0.0))
        duty = min(reducer.duty.flow.si for reducer in self.view.layout.reducers)
        return d.TRICKLE_FACTOR * plan if plan > 0.0 else duty

    def last_touch(self, part: str, but: Iterable[str] = ()) -> int:
        """Return the place of the last touch of a part, things named in `but` aside; −1: none."""
        aside = {f"{part}.{name}" for name in but}
        own = [
            touch.row.at
            for touch in self.touched
            if any(name.startswith(f"{part}.") and name not in aside for name in touch.things)
        ]
        return max(own, default=-1)

    def of(self, *bases: str, inputs: Iterable[str] = ()) -> tuple[Taken, ...]:
        """Return the readings of steps by their handbook name; `inputs`: names before the point, or all."""
        names = set(inputs)
        return tuple(
            one
            for one in self.all
            if one.base in bases and (not names or one.input.partition(".")[0] in names)
        )

    def lacking(self, *bases: str) -> Reason:
        """Return why there is no reading of some steps: none was taken, or the step was refused."""
        refused = {node for node, state in self.states.items() if state == "refused"}
        named = {node for node in refused if _base(node) in bases}
        return "refused" if any(self.record.at(node) for node in named) else "no readings"

    def proofs(self, steps: Iterable[str]) -> tuple[str, ...]:
        """Return what these steps prove, each once."""
        found = (name for step in dict.fromkeys(steps) for name in self.record.node[step].proves)
        return tuple(dict.fromkeys(found))

    @cached_property
    def touched(self) -> tuple[Touch, ...]:
        """Every touch of the run, in order."""
        return touches(self.record)

    def _taken(self, row: Row) -> Taken | None:
        entry = row.entry
        value = row.number("value")
        node = self.nodes.get(entry.node)
        if entry.kind != "reading" or value is None or node is None or entry.payload.get("swing"):
            return None
        asked = next((one for one in node.inputs if one.name == row.input), None)
        quantity = row.text("quantity") or (asked.quantity if asked else "")
        tap = row.text("tap") or (asked.tap if asked else "")
        role = self.roles.get(tap, tap if tap in self.roles.values() else "")
        name = row.text("instrument")
        error = self.error(name, quantity, value)
        sigma = error.reading
        if quantity == "pressure":
            still = row.number("steady_within")
            still = still if still is not None else (asked.stable_within if asked else 0.0)
            sigma = sqrt(sigma**2 + (d.STILL_SHARE.si * still) ** 2)
            value = self._at_datum(value, tap, row.number("read_at_height")) if role else value
        flow, meter = self._flow(row)
        return Taken(
            entry.id, entry.node, row.input, row.at, role, value, sigma, name, error.common, flow, meter
        )

    def _at_datum(self, value: float, tap: str, height: float | None) -> float:
        level = self.heights.get(tap, 0.0) if height is None else height
        return value - to_level(0.0, level=level, datum=0.0, density=self.density)

    def _flow(self, row: Row) -> tuple[float | None, str]:
        """Return the flow a reading belongs to: that of its point; else noted with it, or at its step."""
        number = row.input.partition(".")[2]
        point = self._read_at(row, f"flow.{number}") if number else None
        own = row.number("flow")
        if point is None and own is not None:
            return own, row.text("flow_instrument")
        found = point or self._read_at(row, "flow")
        return (None, "") if found is None else (found.number("value"), found.text("instrument"))

    def _read_at(self, row: Row, name: str) -> Row | None:
        """Return what was last read of an input of the same step before a reading, else first after it."""
        found = [
            one
            for one in self.record.at(row.entry.node)
            if one.entry.kind == "reading" and one.input == name and one.number("value") is not None
        ]
        before = [one for one in found if one.at <= row.at] or found[:1]
        return before[-1] if before else None

    @cached_property
    def at_odds(self) -> tuple[LeftOut, ...]:
        """Readings noted with another flow than the one of their point, with both flows. [m³/s]"""
        found = []
        for row in self.record.rows:
            number, own = row.input.partition(".")[2], row.number("flow")
            if not number or own is None or row.entry.node not in self.nodes or row.input.startswith("flow."):
                continue
            at = self._read_at(row, f"flow.{number}")
            point = None if at is None else at.number("value")
            if point is not None and abs(own - point) > d.SAME_FLOW.si * max(abs(own), abs(point)):
                found.append(LeftOut(row.entry.id, row.entry.node, row.input, own, "flow", "at odds", point))
        return tuple(found)

    def error(self, name: str, quantity: str, value: float) -> Error:
        """Return the errors of an instrument: as described in the run, as the file has it, else as usual."""
        described = self.record.instruments.get(name, {})
        if described.get("quantity") not in (None, "", quantity):
            described = {}  # an instrument for something else: its class says nothing here
        error, division, low, high = (_known(described, key) for key in ("error", "division", "low", "high"))
        if quantity == "flow":
            scatter = d.METER_SCATTER.si * abs(value)
            fine = 0.0 if division is None else division / sqrt(12.0)
            own = d.METER_ERROR.si * abs(value) if error is None else error
            return Error(own / sqrt(3.0), max(scatter, fine))
        if quantity == "time":
            return Error(0.0, d.STOPWATCH.si / sqrt(3.0))
        if quantity != "pressure":
            return Error(0.0, 0.0)
        gauge = next((one for one in self.station.gauges if one.id == name), None)
        usual = next((one for one in vd.GAUGE_SPANS if one >= value), vd.GAUGE_SPANS[-1])
        span = gauge.span.si if gauge is not None else usual
        span = span if low is None or high is None else high - low
        share = gauge.accuracy.si if gauge is not None else vd.GAUGE_ACCURACY.si
        half = vd.READING_SHARE.si * span if division is None else division / 2.0
        return Error((share * span if error is None else error) / sqrt(3.0), half / sqrt(3.0))


def _known(described: Mapping[str, Scalar], key: str) -> float | None:
    found = described.get(key)
    return float(found) if is_number(found) else None
