"""What strainer, open shut-off and the like take from the pressure, out of a flow test."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import hypot, sqrt
from typing import TypeAlias

from steadyhead.hydraulics import Model
from steadyhead.laws.coefficients import k_of_kv, kv_of_k
from steadyhead.records.baseline import Fitted, LeftOut, Reason, Undetermined
from steadyhead.records.parts import (
    CheckValve,
    FlowMeter,
    IsolatingValve,
    LinePart,
    Reducer,
    ShutOff,
    Strainer,
    Tap,
)
from steadyhead.records.values import Value
from steadyhead.station.mechanics import (
    check_valve_kv,
    isolating_kv,
    meter_kv,
    shut_off_twin,
    strainer_kv,
)
from steadyhead.visits.fitting import defaults as d
from steadyhead.visits.fitting.adjusting import Adjusted, Sight, Unknown, Values, adjust_and_sift
from steadyhead.visits.fitting.outcome import Outcome, correlated, relative
from steadyhead.visits.fitting.taken import Readings, Taken
from steadyhead.visits.questions import tap_of_role

FLOW_TEST = "H4"
Lossy: TypeAlias = Strainer | ShutOff | FlowMeter | CheckValve | IsolatingValve
FIRST = (Strainer, ShutOff, FlowMeter, CheckValve, IsolatingValve)
"""Which of the parts between two taps a loss is put down to; the others keep their own."""
BY_ONE_GAUGE = {"strainer": Strainer, "shut_off": ShutOff}
"""Inputs of the flow test that are a loss read with one gauge, moved, and the part between its two taps."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Two taps with nothing between them but what takes pressure by the square of the flow.

    part: the one the loss is put down to; others: Kv of the rest, by id.
    """

    above: str
    below: str
    part: Lossy
    others: Mapping[str, Value]

    @property
    def unknown(self) -> str:
        """Name of the unknown: its loss over the square of the flow."""
        return f"K.{self.part.id}"

    @property
    def field(self) -> str:
        """Field of the station file."""
        return "kv_clean" if isinstance(self.part, Strainer) else "kv"


def stretches(readings: Readings) -> tuple[Stretch, ...]:
    """Return the stretches of a line between neighbouring taps on which no reducer stands."""
    roles = {tap: role for role, tap in tap_of_role(readings.view.layout).items()}
    found: list[Stretch] = []
    above = ""
    between: list[LinePart] = []
    for part in readings.view.layout.main:
        if not isinstance(part, Tap):
            between.append(part)
            continue
        role = roles.get(part.id, "")
        if above and role not in ("", "T4") and (one := _stretch(above, role, between)) is not None:
            found.append(one)
        above, between = role, []
    return tuple(found)


def _stretch(above: str, below: str, between: Sequence[LinePart]) -> Stretch | None:
    lossy = [part for part in between if isinstance(part, FIRST)]
    if not lossy or any(isinstance(part, Reducer) for part in between):
        return None
    chosen = min(lossy, key=lambda part: FIRST.index(type(part)))
    return Stretch(above, below, chosen, {one.id: coefficient(one) for one in lossy if one is not chosen})


def coefficient(part: Lossy) -> Value:
    """Return Kv of a part that stands open, with its provenance."""
    if isinstance(part, Strainer):
        return strainer_kv(part)
    if isinstance(part, ShutOff):
        return shut_off_twin(part).kv
    if isinstance(part, FlowMeter):
        return meter_kv(part)
    if isinstance(part, CheckValve):
        return check_valve_kv(part)
    return isolating_kv(part)


def fit_losses(readings: Readings, model: Model, known: frozenset[str]) -> Outcome:
    """Return Kv of what stands between neighbouring taps.

    Square of the flow; all stretches together, since they share meter, taps and the supply that moves. Losses
    of the parts a stretch is not put down to are taken off as the twin has them.

    Parameters
    ----------
    readings
        Of one way through the station.
    model
        Its twin.
    known
        Parts that another way has determined already.

    Notes
    -----
    p_above − p_below = K Q²; K = Σ 1/k², k of Kv by IEC 60534-1. Judged and told is Kv ∝ K^−½, its half-width
    that of its wider side.
    """
    wanted = [one for one in stretches(readings) if one.part.id not in known]
    test = _Test(readings, wanted)
    if not test.sights:
        lacks = readings.lacking(FLOW_TEST)
        return Outcome(undetermined=tuple(_open(one, lacks, "loss.flow_test") for one in wanted))
    found = adjust_and_sift(test.unknowns(), test.sights)
    outcome = Outcome(left_out=tuple(test.dropped(found)))
    for one in wanted:
        outcome += _one(one, test, found, model)
    keys = {one.unknown: f"{one.part.id}.{one.field}" for one in wanted}
    return outcome + Outcome(correlations=correlated(found, keys, outcome.fitted))


class _Test:
    """The flow test as an adjustment: the pressure at the head of a chain of taps is unknown at each one."""

    def __init__(self, readings: Readings, wanted: Sequence[Stretch]) -> None:
        self.readings, self.wanted = readings, wanted
        self.sights: list[Sight] = []
        self.taken: dict[str, Taken] = {}
        self.of: dict[str, list[str]] = {one.unknown: [] for one in wanted}
        self.heads: dict[str, float] = {}
        self.zeros: dict[str, float] = {}
        self.meters: dict[str, float] = {}
        self.guess: dict[str, float] = {}
        points = points_of(readings)
        flows = [one.flow for taps in points.values() for one in taps.values() if one.flow is not None]
        self.highest = max(flows, default=0.0)
        if self.highest <= 0.0:
            return
        for one in wanted:
            self._note_guess(one, points)
        for chain in _chains(wanted):
            after = max(_touched(readings, one) for one in chain)
            for number, taps in points.items():
                self._point(chain, number, {role: one for role, one in taps.items() if one.at > after})
        for one in wanted:
            for taken in _by_one_gauge(readings, one):
                self._moved_gauge(one, taken, points)

    def _point(self, chain: Sequence[Stretch], number: str, taps: Mapping[str, Taken]) -> None:
        roles = [chain[0].above, *(one.below for one in chain)]
        seen = [role for role in roles if role in taps and taps[role].flow is not None]
        if len(seen) < 2:
            return
        head = f"p.{chain[0].above}.{number}"
        self.heads[head] = taps[seen[0]].value
        for role in seen:
            one = taps[role]
            crossed = chain[: roles.index(role)]
            for stretch in chain:
                if role in (stretch.above, stretch.below):
                    self.of[stretch.unknown].append(one.entry)
            self._add(one, head, [part.unknown for part in crossed], f"zero {one.gauge}@{role}", one.sigma)

    def _note_guess(self, stretch: Stretch, points: Mapping[str, Mapping[str, Taken]]) -> None:
        for taps in points.values():
            above, below = taps.get(stretch.above), taps.get(stretch.below)
            if above is not None and below is not None and (above.flow or 0.0) >= 0.99 * self.highest:
                self.guess[stretch.unknown] = max(above.value - below.value, 0.0) / self.highest**2

    def _moved_gauge(self, stretch: Stretch, one: Taken, points: Mapping[str, Mapping[str, Taken]]) -> None:
        """A loss read with one gauge, moved from tap to tap at the highest flow: its zero drops out."""
        flows = [(taken.flow, taken.flow_meter) for taps in points.values() for taken in taps.values()]
        known = [(flow, meter) for flow, meter in flows if flow is not None]
        flow, meter = max(known, key=lambda pair: pair[0])
        dial = self.readings.error(one.gauge, "pressure", self.readings.station.supply.static.si).reading
        self.of[stretch.unknown].append(one.entry)
        placed = Taken(
            one.entry, one.node, one.input, one.at, "", -one.value, 0.0, one.gauge, 0.0, flow, meter
        )
        self._add(placed, "", [stretch.unknown], "", sqrt(2.0) * max(one.sigma, dial))

    def _add(self, one: Taken, head: str, crossed: Sequence[str], zero: str, sigma: float) -> None:
        flow = one.flow or 0.0
        error = self.readings.error(one.flow_meter, "flow", flow)
        meter = f"meter {one.flow_meter}"
        self.meters[meter] = max(self.meters.get(meter, 0.0), error.common / self.highest, 1e-6)
        if zero:
            self.zeros[zero] = max(one.common, 1.0)
        self.taken[one.entry] = one

        def predict(values: Values) -> float:
            square = (flow * (1.0 + values[meter])) ** 2
            start = values[head] if head else 0.0
            start += values[zero] if zero else 0.0
            return start - square * sum(values[name] for name in crossed)

        by_flow = sum(self.guess.get(name, 0.0) for name in crossed) * 2.0 * flow * error.reading
        self.sights.append(Sight(one.entry, one.value, hypot(sigma, by_flow), predict))

    def unknowns(self) -> list[Unknown]:
        """Return losses, pressures at the head of each chain, zeros of gauges, error of the meter."""
        least = 1e3 / self.highest**2
        seen = [name for name, entries in self.of.items() if entries]
        start = {name: self.guess.get(name, least) for name in seen}
        found = [Unknown(name, value, max(value, least)) for name, value in start.items()]
        found += [Unknown(name, value, 1e4) for name, value in self.heads.items()]
        found += [Unknown(name, 0.0, sigma, sigma=sigma) for name, sigma in self.zeros.items()]
        return found + [Unknown(name, 0.0, share, sigma=share) for name, share in self.meters.items()]

    def dropped(self, found: Adjusted) -> Iterator[LeftOut]:
        """Yield the readings that were left out."""
        for label, off in found.left_out:
            one = self.taken[label]
            yield LeftOut(label, one.node, one.input, abs(one.value), "pressure", "outlier", off)


def points_of(readings: Readings) -> dict[str, dict[str, Taken]]:
    """Return the readings of each point of the flow test by role, the newest where one was read again."""
    points: dict[str, dict[str, Taken]] = {}
    for one in readings.of(FLOW_TEST):
        if one.role and one.input.partition(".")[0] == one.role and one.number:
            points.setdefault(one.number, {})[one.role] = one
    return points


def _chains(wanted: Sequence[Stretch]) -> list[list[Stretch]]:
    """Return stretches that follow each other tap by tap together: they share the tap between them."""
    chains: list[list[Stretch]] = []
    for one in wanted:
        if chains and chains[-1][-1].below == one.above:
            chains[-1].append(one)
        else:
            chains.append([one])
    return chains


def _touched(readings: Readings, stretch: Stretch) -> int:
    return readings.last_touch(stretch.part.id, but=("setting", "nut", "gate"))


def _by_one_gauge(readings: Readings, stretch: Stretch) -> list[Taken]:
    after = _touched(readings, stretch)
    return [
        one
        for one in readings.of(FLOW_TEST, inputs=BY_ONE_GAUGE)
        if isinstance(stretch.part, BY_ONE_GAUGE[one.input]) and one.at > after
    ]


def _one(stretch: Stretch, test: _Test, found: Adjusted, model: Model) -> Outcome:
    gone = {label for label, _ in found.left_out}
    entries = tuple(dict.fromkeys(e for e in test.of[stretch.unknown] if e not in gone))
    if not entries:
        lacks = test.readings.lacking(FLOW_TEST)
        return Outcome(undetermined=(_open(stretch, lacks, "loss.flow_test"),))
    within = found.within(stretch.unknown)
    rest = sum(k_of_kv(kv.si, model.density) ** -2 for kv in stretch.others.values())
    loss = found.values[stretch.unknown] - rest
    misfit = found.misfit > d.MISFIT
    kv = kv_of_k(loss**-0.5, model.density) if loss > 0.0 else None
    width = None if kv is None else kv * _wider_side(relative(within, loss))
    if kv is None or width is None or width > d.MOST_RELATIVE.si * kv or misfit:
        reason: Reason = "does not fit" if misfit else "too wide"
        return Outcome(undetermined=(_open(stretch, reason, "loss.more_flow", kv, width),))
    former = coefficient(stretch.part)
    steps = tuple(dict.fromkeys(test.taken[entry].node for entry in entries))
    state = {
        "loss_factor": loss,
        "loss_factor_within": within,
        "highest_flow": test.highest,
        "loss_at_highest_flow": loss * test.highest**2,
    }
    one = Fitted(
        stretch.part.id, stretch.field, "flow_coefficient", kv, width, former.si, former.provenance, steps,
        test.readings.proofs(steps), entries, len(entries), state,
    )  # fmt: skip
    return Outcome(fitted=(one,))


def _wider_side(share: float) -> float:
    """Return the half-width of Kv ∝ K^−½ over Kv, on its wider side, from that of K over K. [1]"""
    return (1.0 - share) ** -0.5 - 1.0 if share < 1.0 else UNBOUNDED


def _open(
    stretch: Stretch, reason: Reason, needs: str, value: float | None = None, within: float | None = None
) -> Undetermined:
    former = coefficient(stretch.part)
    return Undetermined(
        stretch.part.id, stretch.field, "flow_coefficient", reason, needs, value, within, former.si,
        former.provenance,
    )  # fmt: skip


UNBOUNDED = 1e6
"""Half-width over Kv where the interval of K reaches zero: Kv has no upper end. [1]"""
LEAST_POINTS = 4
"""Points of a flow test from which a sag of the supply is told from its drift."""
SAG_MISFIT = 4.0
"""Sum of squares per degree of freedom beyond which the supply moved of itself; own estimate."""


def fit_sag(readings: Readings) -> Outcome:
    """Return how far the supply falls from no flow to the highest flow of the test; it changes no value.

    The supply may move of itself meanwhile: then it does not follow the square of the flow, and is not given.
    """
    rows = [taps["T0"] for taps in points_of(readings).values() if "T0" in taps and taps["T0"].flow]
    if len(rows) < LEAST_POINTS:
        return Outcome()
    highest = max(one.flow or 0.0 for one in rows)
    unknowns = [Unknown("static", max(one.value for one in rows), 1e4), Unknown("sag", 1e4, 1e4)]

    def predicted(flow: float) -> Callable[[Values], float]:
        return lambda values: values["static"] - values["sag"] * (flow / highest) ** 2

    sights = [Sight(one.entry, one.value, one.sigma, predicted(one.flow or 0.0)) for one in rows]
    found = adjust_and_sift(unknowns, sights)
    value, within = found.values["sag"], found.within("sag")
    misfit = found.misfit > SAG_MISFIT or bool(found.left_out)
    if relative(within, value) > d.MOST_RELATIVE.si or misfit or value < 0.0:
        reason: Reason = "does not fit" if misfit else "too wide"
        lacking = Undetermined("supply", "sag", "pressure", reason, "sag.still", value, within)
        return Outcome(undetermined=(lacking,))
    steps = tuple(dict.fromkeys(one.node for one in rows))
    entries = tuple(one.entry for one in rows)
    sag = Fitted(
        "supply", "sag", "pressure", value, within, None, "", steps, readings.proofs(steps), entries,
        len(rows), {"highest_flow": highest},
    )  # fmt: skip
    return Outcome(fitted=(sag,))
