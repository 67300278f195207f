"""In which unit each reading of a plan is asked for: that of the gauge's dial first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from steadyhead.records.station import Station
from steadyhead.station.streams import views
from steadyhead.units import METRIC, UnitSet, beside
from steadyhead.visits.gauging import taps_with_gauges


def dials(station: Station) -> Mapping[str, str]:
    """Return by tap the unit of the dial somebody reads there; taps whose gauge is assumed are left out.

    Examples
    --------
    >>> from steadyhead.station.examples import read
    >>> from steadyhead.station.load import load
    >>> dials(load(read("quillenby-row")).station)["T3"]
    'bar'
    """
    units = {gauge.id: gauge.reads_in for gauge in station.gauges}
    found: dict[str, str] = {}
    if not units:
        return found
    for view in views(station):
        for tap in taps_with_gauges(view.station, view.layout).values():
            if units.get(tap.gauge.id):
                found.setdefault(tap.id, units[tap.gauge.id])
    return found


@dataclass(frozen=True, slots=True)
class PlanUnits:
    """The units of one plan: for its words, and for what is read at each tap.

    Parameters
    ----------
    words
        For sentences and tables that belong to no one tap.
    taps
        By tap, the dial's unit first.
    """

    words: UnitSet = METRIC
    taps: Mapping[str, UnitSet] = field(default_factory=dict)

    def at(self, tap: str) -> UnitSet:
        """Return the units of what is read at a tap."""
        return self.taps.get(tap, self.words)

    @property
    def one_dial(self) -> bool:
        """Whether every tap is read in the same unit."""
        return len({units.unit("pressure") for units in self.taps.values()}) <= 1


def plan_units(units: UnitSet, at_taps: Mapping[str, str]) -> PlanUnits:
    """Return the units of a plan for a person who reads `units` and gauges that read as `dials` says.

    Where all dials read in one unit, the whole plan names it first. Where they differ, words show the
    person's own unit and one of the others, and each reading has its dial's unit first.

    Parameters
    ----------
    units
        The person's, or the paper's.
    at_taps
        Unit of the dial by tap.

    Examples
    --------
    >>> plan_units(METRIC, {"T1": "psi", "T3": "psi"}).words.heading("pressure")
    'psi (bar)'
    >>> mixed = plan_units(METRIC, {"T1": "psi", "T3": "bar"})
    >>> [units.heading("pressure") for units in (mixed.words, mixed.at("T1"), mixed.at("T3"))]
    ['bar (psi)', 'psi (bar)', 'bar']
    """
    found = list(dict.fromkeys(at_taps.values()))
    taps = {tap: units.at_dial(unit) for tap, unit in at_taps.items()}
    if len(found) == 1:
        return PlanUnits(units.at_dial(found[0]), taps)
    others = [unit for unit in found if unit != units.unit("pressure")]
    if others and units.second is None:
        return PlanUnits(beside(units, units.at_dial(others[0]).first), taps)
    return PlanUnits(units, taps)
