"""Cavitation hours: how long, and with how much water, the index of the reducer lies below its limit."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.watch.measures.day import Days, measured
from steadyhead.watch.measures.measure import Measure, Measured
from steadyhead.watch.measures.parts import FINE, MOST_SIGMA

YEAR = 365.25 * 86_400.0


@dataclass(frozen=True, slots=True)
class Cavitation:
    """Hours below the limit, their share of the hours with flow, of the volume, and hours in a year so."""

    measured: Measured
    share: float | None
    share_of_volume: float | None
    in_a_year: float | None


def cavitation_hours(days: Days, limit: float, degree: str = "") -> Cavitation:
    """Return the time that σ₁ = (p₁ − p_v)/(p₁ − p₂) lies below `limit` while water flows. [s]

    Method (design handbook 6.4): inlet and outlet as sampled, in bins of 0.02. The limit is the valve's own,
    of σ₁, and taken the same at every lift. With two stages the index of both together is no index
    of either: nothing should be measured so. degree: which limit it is, for the sentence.
    """
    known = [d for d in days.days if d.more.sigma]
    if not known:
        words = "Cavitation is not known: inlet, outlet and flow are not recorded together."
        return Cavitation(measured(days, Measure.CAVITATION, "s", words), None, None, None)
    if not 1.0 < limit <= MOST_SIGMA:
        words = f"Cavitation is not known: the limit {limit:g} of σ₁ does not lie from 1 to {MOST_SIGMA:g}."
        return Cavitation(measured(days, Measure.CAVITATION, "s", words), None, None, None)
    rows = [(k, n * d.step, volume) for d in known for k, n, volume in d.more.sigma or ()]
    total, water = sum(row[1] for row in rows), sum(row[2] for row in rows)
    edge = limit / FINE
    below = sum(s * _part(k, edge) for k, s, _ in rows)
    inside = sum(v * _part(k, edge) for k, _, v in rows)
    low = sum(s for k, s, _ in rows if k + 2 <= edge)
    high = sum(s for k, s, _ in rows if k - 1 < edge)
    year = below / total * YEAR / 3600.0 if total else 0.0
    words = (
        f"The cavitation index lies below {limit:g}{f' (limit of {degree})' if degree else ''} for "
        f"{below / 3600.0:.0f} h of {total / 3600.0:.0f} h with flow: {year:.0f} h in a year at this rate."
    )
    assumed = (
        "both gauges at the height of the reducer",
        "air 1.013 bar, water at 15 °C",
        "limit belongs to σ₁ and is the same at every lift",
        "one reducer between the gauges",
        "bins of 0.02",
    )
    found = measured(days, Measure.CAVITATION, "s", words, (below, float(low), float(high)), assumed)
    volume = inside / water if water else None
    return Cavitation(found, below / total if total else None, volume, year)


def _part(place: int, edge: float) -> float:
    """Return the share of a bin that lies below an edge."""
    return min(1.0, max(0.0, edge - place))
