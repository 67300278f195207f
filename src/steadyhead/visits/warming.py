"""What heating brings to the outlet while nobody draws, as its gauge reads it."""

from __future__ import annotations

from steadyhead.design.basis import Basis
from steadyhead.design.thermal import heating
from steadyhead.design.twin import SteadyTwin
from steadyhead.records.plan_numbers import Warmed
from steadyhead.records.station import Station
from steadyhead.visits import spans
from steadyhead.visits.gauging import Tap


def warmed(station: Station, tap: Tap) -> Warmed | None:
    """Return from where to where the outlet rises when all hot water is heated once; None: not known.

    Holds for a line with its reducers shut and nothing let off; a heater with soft walls, water that is
    warm already, or a draw give less. The zone and the volume of hot water must be stated.

    Parameters
    ----------
    station
        A line with the vessels that take the expansion up.
    tap
        Where it is read.
    """
    if station.hot_water is None:
        return None
    twin = SteadyTwin(station)
    basis = Basis(station, twin)
    found = heating(basis, twin.model.lockup[spans.worker(basis.layout).id].si)
    if found is None:
        return None
    density = twin.model.density
    stated = any(v.volume is not None and v.precharge is not None for v in basis.vessels)
    starts, ends = (tap.at_tap(at_datum, density) for at_datum in (found.starts, found.ends))
    return Warmed(starts, ends, found.per_kelvin, taken_up=stated)
