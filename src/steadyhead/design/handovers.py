"""At which flows the streams of a station hand over to each other."""

from __future__ import annotations

from collections.abc import Iterable
from math import isnan

from steadyhead.design import defaults as d
from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics import Model, case, solve
from steadyhead.records.design import Handover
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions, Steady

_PLACES = 36
_HALVINGS = 12
_FIRST_SHARE = 1e-3
SHUT = ("shut", "lock-up")
"""States of a reducer that passes no more than its seat lets by."""


def handovers(station: Station, model: Model, workers: Iterable[str], outlet: str) -> tuple[Handover, ...]:
    """Return the flows at which another reducer starts to carry, rising, the leading one at first.

    At typical inlet pressure, all streams in service, steady. Where the twin has no answer nothing is found;
    two changes closer than a fifth of the flow may be told as one.

    Parameters
    ----------
    station, model
        The whole station and its twin.
    workers
        The reducer of each way that holds the outlet, by id.
    outlet
        Tap the pressure is told at.

    Returns
    -------
    tuple of Handover
        The first at no flow, with the lock-up of the one that leads; empty where there is one reducer only.
    """
    ids = tuple(dict.fromkeys(workers))
    if len(ids) < 2:
        return ()
    look = _Look(station, model, ids, outlet)
    demand = station.demand
    most = max(one.si for one in (demand.peak, demand.fire or demand.peak))
    flows = [most * _FIRST_SHARE ** (1.0 - step / (_PLACES - 1)) for step in range(_PLACES)]
    leads = max(ids, key=lambda name: model.lockup[name].si)
    found = [Handover(0.0, model.lockup[leads].si, (leads,))]
    last, known = flows[0], frozenset({leads})
    for flow in flows:
        carry = look.carry(flow)
        if not carry:
            continue
        if frozenset(carry) - known:
            found.append(look.edge(last, flow, known))
        last, known = flow, frozenset(carry)
    return tuple(found)


class _Look:
    """Asks the twin who carries a flow."""

    def __init__(self, station: Station, model: Model, ids: tuple[str, ...], outlet: str) -> None:
        self.model = model
        self.ids = ids
        self.outlet = outlet
        self.at = case(station, "typical", "average").conditions

    def answer(self, flow: float) -> Steady | None:
        """Return the steady answer at a flow; None: the twin has none."""
        conditions = Conditions(
            supply_pressure=self.at.supply_pressure,
            consumer_flow=flow,
            demand_exponent=self.at.demand_exponent,
        )
        try:
            return solve(self.model, conditions)
        except (NotConverged, InputError):
            return None

    def carry(self, flow: float) -> tuple[str, ...] | None:
        """Return the reducers that carry a flow, the one with most first; None: no answer."""
        steady = self.answer(flow)
        if steady is None:
            return None
        least = d.LEAST_SHARE_CARRIED.si * flow
        valves = {name: steady.valves[name] for name in self.ids if name in steady.valves}
        shares = {name: valve.flow for name, valve in valves.items() if valve.state not in SHUT}
        carrying = [name for name, share in shares.items() if not isnan(share) and share >= least]
        return tuple(sorted(carrying, key=lambda name: -shares[name]))

    def told(self, flow: float, just_above: float) -> Handover:
        """Return a handover at a flow with what the twin says just above it."""
        steady = self.answer(just_above)
        outlet = float("nan") if steady is None else steady.taps.get(self.outlet, float("nan"))
        return Handover(flow, outlet, self.carry(just_above) or ())

    def edge(self, low: float, high: float, known: frozenset[str]) -> Handover:
        """Return the handover between two flows of which the upper one has another reducer carrying."""
        for _ in range(_HALVINGS):
            middle = (low * high) ** 0.5
            carry = self.carry(middle)
            if carry is not None and frozenset(carry) - known:
                high = middle
            else:
                low = middle
        return self.told(high, high)
