"""The one bound on surge this room knows: a sudden stop in the supply main. The surge engine comes later."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.closing import failure_time
from steadyhead.design.credit import zone_case
from steadyhead.design.overshoot import ZoneCase, run
from steadyhead.hydraulics.mains import wave_speed_of
from steadyhead.laws.coefficients import velocity
from steadyhead.laws.waves import joukowsky_rise, wave_return_time

UNEVEN = 2.0
"""What an uneven stop raises against an even one in the same time. [1] Own estimate."""


@dataclass(frozen=True, slots=True)
class SuddenStop:
    """Rise [Pa] if a flow stops at once, wave speed [m/s] with its provenance, and 2 L/a [s]."""

    rise: float
    wave_speed: float
    provenance: str
    return_time: float


@dataclass(frozen=True, slots=True)
class SuddenFailure:
    """A reducer that goes fully open at once, at night and at the highest static inlet.

    flow: through the station as the shut-off begins to close [m³/s]; closing: how long the stroke then takes
    [s]; stop: bound on the surge of that flow, None where no supply main is stated.
    """

    flow: float
    closing: float
    stop: SuddenStop | None

    @property
    def rise_of_its_stroke(self) -> float:
        """Rise where the flow stops in the last share of the stroke, never above that of a sudden stop. [Pa]

        Twice that of an even stop in that time, for no stop is even; the factor is an own estimate.

        Notes
        -----
        Δp = 2 ρ L Δv / t (a stop that is even and slower than 2 L/a), so ρ a Δv · (2 L/a) / t.
        """
        if self.stop is None:
            return 0.0
        ratio = self.stop.return_time / max(d.LAST_SHARE.si * self.closing, self.stop.return_time)
        return self.stop.rise * min(1.0, UNEVEN * ratio)


def sudden_stop(basis: Basis, flow: float) -> SuddenStop | None:
    """Return the bound on the surge in the supply main when `flow` [m³/s] stops; None: no main is stated.

    An upper bound: a stop slower than 2 L/a gives less. A wave that meets a shut end doubles there.

    Notes
    -----
    Δp = ρ a Δv (N. Joukowsky 1900).
    """
    main = basis.station.supply.main
    if main is None:
        return None
    found = wave_speed_of(main, basis.density)
    speed = found.si
    rise = joukowsky_rise(density=basis.density, wave_speed=speed, velocity_drop=velocity(flow, main.bore.si))
    told = found.source if main.wave_speed is None else found.provenance
    return SuddenStop(rise, speed, told, wave_return_time(length=main.length.si, wave_speed=speed))


def sudden_failure(basis: Basis, *, trip: float, needle_k: float) -> SuddenFailure | None:
    """Return what the shut-off does in a sudden failure of the reducer.

    None: no zone is known, or such a failure does not reach the trip.

    Parameters
    ----------
    trip
        trip_pressure at datum. [Pa]
    needle_k
        k of the closing needle. [m³/(s·√Pa)]

    Notes
    -----
    Q = √((P_s − P_T)/(R + 1/k_r² + 1/k_s²)), reducer and shut-off fully open, the zone at the trip.
    """
    case = zone_case(basis, within=d.FAILURE_SPEEDS[0].si, at="night flow", trip=trip, closing_time=1.0)
    if case is None or not run(case).trips:
        return None
    flow = _fully_open(case)
    return SuddenFailure(flow, failure_time(basis, case, needle_k), sudden_stop(basis, flow))


def _fully_open(case: ZoneCase) -> float:
    loss = case.supply_loss + case.reducer_full**-2 + case.shut_off_full**-2
    return sqrt(max(case.supply_pressure - case.trip, 0.0) / loss)
