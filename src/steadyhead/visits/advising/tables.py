"""The screws of a plan with what each step brings them to, from the station and the figures of the plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import sqrt

from steadyhead.records.advice import Advising, Aim, Screw
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Node
from steadyhead.records.quantities import STANDARD_ATMOSPHERE_PA
from steadyhead.records.station import Station
from steadyhead.station.mechanics import pressure_per_turn
from steadyhead.station.streams import View, views
from steadyhead.visits import defaults as vd
from steadyhead.visits import spans
from steadyhead.visits.advising import defaults as d
from steadyhead.visits.advising.screws import seen_screw, unseen_screw
from steadyhead.visits.facts import trip_repeatability
from steadyhead.visits.gauging import Tap, taps_with_gauges
from steadyhead.visits.several.ways import has_several
from steadyhead.water import properties

TRICKLE = ("ES1", "DS2", "DS5", "H1", "Y7")
"""Steps that bring a reducer to its trickle reading, from below."""
TO_TRIP = ("ES3", "DS3")
"""Steps that raise it to the trip, the shut-off out of the way."""
RUNS = ("F1", "F3", "F3R", "Y4", "Y6", "Y6T")
"""Steps that raise it until the shut-off acts."""
LOWERED = ("ES4", "DS4", "IN2")
"""Steps that lower a shut-off until it acts, or its tell-tale shows."""
STEPS = (*TRICKLE, *TO_TRIP, *RUNS, *LOWERED)


def advising(nodes: Iterable[Node], station: Station, numbers: PlanNumbers) -> Advising:
    """Return the screws of a plan and what its steps bring them to; empty where none is turned.

    Parameters
    ----------
    nodes
        Steps of the plan, in order.
    station, numbers
        What the plan is written from.
    """
    own = [node for node in nodes if _base(node) in STEPS]
    screws: dict[str, Screw] = {}
    aims: dict[str, Aim] = {}
    for view in views(station):
        figures = numbers.streams.get(view.id) if has_several(station) else numbers
        if figures is None:
            continue
        line = _Line(view, figures)
        for screw in line.screws():
            screws.setdefault(screw.valve, screw)
        for node in own:
            for aim in line.aims(node):
                aims.setdefault(f"{aim.step} {aim.valve}", aim)
    order = {node.id: place for place, node in enumerate(own)}
    listed = sorted(aims.values(), key=lambda aim: order[aim.step])
    used = {aim.valve for aim in listed}
    return Advising(tuple(screw for screw in screws.values() if screw.valve in used), tuple(listed))


class _Line:
    """One way through the station: its valves, taps and figures."""

    def __init__(self, view: View, numbers: PlanNumbers) -> None:
        self.layout, self.numbers = view.layout, numbers
        self.taps = taps_with_gauges(view.station, view.layout)
        kelvin = view.station.water.temperature.si
        self.density = properties(kelvin, STANDARD_ATMOSPHERE_PA).density

    def screws(self) -> Iterator[Screw]:
        for reducer in self.layout.reducers:
            found = self._reducer(reducer)
            if found is not None:
                yield found
        shut_off = self.layout.shut_off
        if shut_off is not None and shut_off.trip is not None and "T3" in self.taps:
            yield self._shut_off(shut_off)

    def _reducer(self, reducer: Reducer) -> Screw | None:
        tap, section = self._tap(reducer), "outlet"
        if tap is None:
            return None
        if tap.role != "T3":
            section = "between" if "between" in self.numbers.test_limit else "outlet"
        limit, aim = self.numbers.test_limit.get(section), self._trickle(reducer)
        if limit is None or aim is None:
            return None
        rate, spread = _rate(reducer)
        shut_off = self.layout.shut_off
        has_trip = shut_off is not None and shut_off.trip is not None
        return seen_screw(
            reducer.id,
            plate=rate,
            target=aim,
            limit=tap.at_tap(limit, self.density) - tap.gauge.error,
            reading=tap.gauge.reading,
            from_lowest=True,
            spread=spread,
            window=trip_repeatability(shut_off) if shut_off is not None and has_trip else 0.0,
        )

    def _shut_off(self, shut_off: ShutOff) -> Screw:
        tap, limit = self.taps["T3"], self.numbers.test_limit.get("outlet")
        rate, spread = _rate(shut_off)
        band = shut_off.dead_band.si if shut_off.dead_band is not None else d.DEAD_BAND.si
        return unseen_screw(
            shut_off.id,
            plate=rate,
            top=tap.at_tap(shut_off.pilot.spring_high.si, self.density),
            target=self._trip(),
            repeat=trip_repeatability(shut_off),
            reading=tap.gauge.reading,
            spread=spread,
            has_tell_tale=shut_off.tell_tale not in ("none", "not known"),
            dead_band=band,
            limit=tap.at_tap(limit, self.density) - tap.gauge.error if limit is not None else 0.0,
        )

    def aims(self, node: Node) -> Iterator[Aim]:
        base, touched = _base(node), {name.partition(".")[0] for name in node.touches if _is_setting(name)}
        shut_off = self.layout.shut_off
        if base in LOWERED:
            if shut_off is not None and shut_off.trip is not None and shut_off.id in touched:
                repeat = trip_repeatability(shut_off)
                yield Aim(node.id, shut_off.id, self.taps["T3"].id, self._trip(), repeat)
            return
        for reducer in self.layout.reducers:
            tap = self._tap(reducer)
            if reducer.id in touched and tap is not None and self._reducer(reducer) is not None:
                found = self._rise(node, base, reducer, tap)
                if found is not None:
                    yield found

    def _rise(self, node: Node, base: str, reducer: Reducer, tap: Tap) -> Aim | None:
        shut_off = self.layout.shut_off
        near = d.TOLERANCE_DUTY.si
        if base in TRICKLE:
            at = self._trickle(reducer)
            live = None
            is_last = reducer.id == spans.worker(self.layout).id
            if is_last and shut_off is not None and shut_off.trip is not None:
                live = (self._trip(), trip_repeatability(shut_off) / sqrt(3.0))
            return (
                None
                if at is None
                else Aim(node.id, reducer.id, tap.id, at, near, 0.0, live, self._beside(tap))
            )
        if shut_off is None or shut_off.trip is None or reducer.id != spans.worker(self.layout).id:
            return None
        repeat = trip_repeatability(shut_off)
        if base in TO_TRIP:
            tap = self.taps["T3"]
            return Aim(node.id, reducer.id, tap.id, self._trip(), near, beside=self._beside(tap))
        climb = vd.PILOT_STEP_SHARE.si * repeat
        return Aim(node.id, reducer.id, self.taps["T3"].id, self._trip() + repeat, near, climb)

    def _beside(self, tap: Tap) -> tuple[str, float] | None:
        """Return the tap between reducer and a shut-off downstream: open, in the trickle, it reads the same.

        Only where the same gauge is moved from one to the other, so that its offset cancels.
        """
        between = self.taps.get("T2")
        if tap.role != "T3" or between is None or self.layout.shut_off_place != "downstream":
            return None
        if between.gauge.id != tap.gauge.id:
            return None
        return between.id, tap.at_tap(0.0, self.density) - between.at_tap(0.0, self.density)

    def _tap(self, reducer: Reducer) -> Tap | None:
        return self.taps.get(spans.role_of(self.layout, reducer.id))

    def _trickle(self, reducer: Reducer) -> float | None:
        role = spans.role_of(self.layout, reducer.id)
        reading = self.numbers.target_reading
        return reading.get(f"trickle.{role}", reading.get(f"duty.{role}"))

    def _trip(self) -> float:
        shut_off = self.layout.shut_off
        assert shut_off is not None
        assert shut_off.trip is not None
        at_datum = self.taps["T3"].at_tap(shut_off.trip.si, self.density)
        return self.numbers.target_reading.get("trip", at_datum)


def _rate(part: Reducer | ShutOff) -> tuple[float, float]:
    """Return pressure per turn by the plate, and how far it may lie from that."""
    stated = part.pilot.per_turn is not None
    return pressure_per_turn(part.pilot).si, vd.PER_TURN_SPREAD.si if stated else d.RATE_SPREAD.si


def _base(node: Node) -> str:
    return node.id.partition(".")[0].partition("@")[0]


def _is_setting(name: str) -> bool:
    return name.partition("@")[0].endswith(".setting")
