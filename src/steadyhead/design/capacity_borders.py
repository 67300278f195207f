"""Borders of the zones of a capacity map, each found by halving along the axis it is steep against."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from steadyhead.design import defaults as d
from steadyhead.hydraulics.cavitation import KnownLimits
from steadyhead.hydraulics.model import Model
from steadyhead.hydraulics.reach import ReachPoint, reach_pairs
from steadyhead.records.capacity import Zone
from steadyhead.records.cavitation import DEGREES, Degree

Pair = tuple[float, float]
Test = Callable[[ReachPoint], bool]


@dataclass(frozen=True)
class Ground:
    """One reducer with what stands between the map's inlet and its own.

    Parameters
    ----------
    model, reducer
        The station's model and the reducer's id; it is taken to sense its own outlet.
    resistance
        Pressure lost ahead of it over flow squared. [Pa·s²/m⁶]
    atmosphere_abs
        [Pa abs]
    least_lift
        Lift below which it is not expected to control. [1]
    """

    model: Model
    reducer: str
    resistance: float
    atmosphere_abs: float
    least_lift: float = d.LOWEST_LIFT.si

    @property
    def limits(self) -> KnownLimits:
        """What is known of its cavitation."""
        return self.model.cavitation[self.reducer]

    def at(self, pairs: Sequence[Pair]) -> tuple[ReachPoint, ...]:
        """Return what the reducer does at pairs of flow [m³/s] and inlet pressure at the map's place [Pa].

        The inlet pressure of an answer is the reducer's own.
        """
        before = [(flow, inlet - self.resistance * flow * flow) for flow, inlet in pairs]
        return reach_pairs(self.model, self.reducer, before, least_lift=self.least_lift)

    def zone(self, point: ReachPoint) -> Zone:
        """Return the zone a point lies in; the first that applies in the order of `Zone`."""
        if point.verdict == "cannot hold":
            return "wide open"
        if point.degree is not None:
            return point.degree
        return "low flow" if point.lift < self.least_lift else "holds"

    def reaches(self, degree: Degree) -> Test:
        """Return whether a point cavitates at least this much, as a test."""
        rank = DEGREES.index(degree)

        def test(point: ReachPoint) -> bool:
            return point.degree is not None and DEGREES.index(point.degree) >= rank

        return test


def holds(point: ReachPoint) -> bool:
    """Say whether the reducer holds at a point."""
    return point.verdict != "cannot hold"


def upwards(
    ground: Ground, flows: Sequence[float], starts: Sequence[float | None], top: float, test: Test
) -> list[float | None]:
    """Return, for each flow, the least inlet pressure at which `test` holds; None where it does not by `top`.

    Eight places are tried upwards first, so that a limit that falls with lift is met where it is first
    passed; above it the zone counts as passed.

    Parameters
    ----------
    flows
        [m³/s]
    starts
        Where to begin; None: leave this flow out. [Pa]
    top
        [Pa]
    test
        False below, true above.
    """
    asked = [i for i, start in enumerate(starts) if start is not None and start < top]
    brackets: dict[int, Pair] = {}
    found: list[float | None] = [None] * len(flows)
    steps = d.MAP_TRIES
    pairs, whose = [], []
    for i in asked:
        start = starts[i]
        assert start is not None
        pairs += [(flows[i], start + (top - start) * step / steps) for step in range(steps + 1)]
        whose += [i] * (steps + 1)
    before: dict[int, float] = {}
    for i, (_, inlet), point in zip(whose, pairs, ground.at(pairs), strict=True):
        if i in brackets or found[i] is not None:
            continue
        if test(point):
            if i in before:
                brackets[i] = (before[i], inlet)
            else:
                found[i] = inlet
        before[i] = inlet
    for i, edge in _halved(ground, brackets, lambda i, inlet: (flows[i], inlet), test).items():
        found[i] = edge
    return found


def across(
    ground: Ground, inlets: Sequence[float], least: float, most: float, test: Test
) -> list[float | None]:
    """Return, for each inlet pressure, the flow [m³/s] up to which `test` is false; None: nowhere between."""
    low = ground.at([(least, inlet) for inlet in inlets])
    high = ground.at([(most, inlet) for inlet in inlets])
    brackets = {
        i: (least, most)
        for i, (first, last) in enumerate(zip(low, high, strict=True))
        if holds(first) and not test(first) and test(last)
    }
    found: list[float | None] = [None] * len(inlets)
    for i, edge in _halved(ground, brackets, lambda i, flow: (flow, inlets[i]), test).items():
        found[i] = edge
    return found


def _halved(
    ground: Ground, brackets: dict[int, Pair], place: Callable[[int, float], Pair], test: Test
) -> dict[int, float]:
    """Halve all brackets together until each is narrow beside its value; near zero it may stay wider."""
    open_ones = dict(brackets)
    done: dict[int, float] = {}
    for _ in range(d.MAP_HALVINGS):
        if not open_ones:
            break
        middles = {i: 0.5 * (low + high) for i, (low, high) in open_ones.items()}
        points = ground.at([place(i, middle) for i, middle in middles.items()])
        for (i, middle), point in zip(middles.items(), points, strict=True):
            low, high = open_ones[i]
            low, high = (low, middle) if test(point) else (middle, high)
            if high - low <= d.MAP_WIDTH.si * max(abs(low), abs(high)):
                done[i] = high
                del open_ones[i]
            else:
                open_ones[i] = (low, high)
    return done | {i: high for i, (_, high) in open_ones.items()}
