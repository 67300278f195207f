"""How far two trips of one outlet are sure to lie apart when proved: one number of design and plan."""

from __future__ import annotations

from steadyhead.design import defaults as d
from steadyhead.design import tolerances as tol
from steadyhead.design.ladder import combined
from steadyhead.records.ladder import Contribution
from steadyhead.records.parts import ShutOff
from steadyhead.records.station import Station


def proof_scatter(station: Station, *shut_offs: ShutOff) -> tuple[Contribution, ...]:
    """Return what moves proved trips against each other: repeatability; a gauge where each has its own.

    Drift is not among it: both are proved afresh.
    """
    found: list[Contribution] = []
    for one in shut_offs:
        trip = one.trip.si if one.trip is not None else 0.0
        size, source = tol.stated_or_share(
            one.repeatability, d.SHUT_OFF_REPEATABILITY, d.SHUT_OFF_REPEATABILITY_SHARE, trip
        )
        found.append(Contribution(tol.REPEATABILITY, size, source))
        if not station.tolerances.same_gauge:
            gauge = tol.setting_gauge(station.gauges)
            found.append(Contribution(tol.GAUGE, gauge.error, gauge.provenance))
    return tuple(found)


def least_apart(station: Station, early: ShutOff, late: ShutOff) -> float:
    """Return the least distance between two proved trips that the design stands for. [Pa]

    What S7 of the plan asks for. At nought or below no distance is sure, and the design is asked about
    (LAD-43).

    Parameters
    ----------
    station
        Its way of adding tolerances, and whether one gauge sets both.
    early, late
        Shut-offs by rising stated trip.

    Notes
    -----
    P_T2 − P_T1 − tol(proof of both), tolerances added as the station says.
    """
    low, high = (one.trip.si if one.trip is not None else 0.0 for one in (early, late))
    return high - low - combined(proof_scatter(station, early, late), station.stacking)


def order_sure(station: Station, early: ShutOff, late: ShutOff) -> float:
    """Return the distance of two proved middles from which the earlier one is sure to act first. [Pa]

    Each may act anywhere within its own scatter of proof: closer together, either may come first in one rise.

    Parameters
    ----------
    station, early, late
        As `least_apart`.

    Notes
    -----
    tol(P_T1) + tol(P_T2), added at their worst.
    """
    return combined(proof_scatter(station, early, late), "worst case")


def is_sure(least: float) -> bool:
    """Return whether a least distance is more than a hand's setting is worth."""
    return least >= d.SAME_SETTING.si
