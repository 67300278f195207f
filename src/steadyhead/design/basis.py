"""What every judgement of one station starts from: layout, water, twin, places in the file."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Protocol

from steadyhead.records.design import FlowCase, InletCase
from steadyhead.records.parts import ExpansionVessel, Parallel, Reducer, Relief
from steadyhead.records.station import Station
from steadyhead.records.steady import Steady
from steadyhead.records.values import Value
from steadyhead.station.defaults import GRAVITY
from steadyhead.station.elevation import to_datum
from steadyhead.station.layout import Layout, read_layout
from steadyhead.station.refusal import Path, in_words
from steadyhead.station.streams import View, views


class Water(Protocol):
    """Properties of the water the design needs. SI, absolute pressures."""

    @property
    def density(self) -> float: ...  # noqa: D102
    @property
    def kinematic_viscosity(self) -> float: ...  # noqa: D102
    @property
    def vapour_pressure_abs(self) -> float: ...  # noqa: D102
    @property
    def bulk_modulus(self) -> float: ...  # noqa: D102


class Twin(Protocol):
    """The steady twin as the design asks it."""

    @property
    def water(self) -> Water: ...  # noqa: D102
    @property
    def atmosphere_abs(self) -> float: ...  # noqa: D102
    def lockup(self, reducer: str) -> Value:
        """Return lockup_pressure of a reducer with its provenance. [Pa at datum]"""

    def steady(self, flow_case: FlowCase, inlet_case: InletCase) -> Steady:
        """Return the steady answer of a case; raises NotConverged or InputError where there is none."""

    def failed_open(self, reducer: str) -> Steady | None:
        """Return the answer with a reducer stuck open, highest static inlet, least demand; None: none."""


@dataclass(frozen=True)
class Leading:
    """A reducer of another way that leads at zero flow, and what it locks up at [Pa at datum]."""

    reducer: Reducer
    lockup: Value


@dataclass(frozen=True)
class Basis:
    """One station, or one way through it, read once.

    Parameters
    ----------
    station
        The typed file; of several streams, the station with one way only.
    twin
        Its steady twin.
    whole
        The file this is one way of; None where it is the file itself.
    view
        The way; None where there is one only.
    leading
        Of the other ways in service the one with the highest lock-up; None: no other way.
    """

    station: Station
    twin: Twin
    whole: Station | None = None
    view: View | None = None
    leading: Leading | None = None
    layout: Layout = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "layout", read_layout(self.station))

    @cached_property
    def data(self) -> dict[str, Any]:
        """The whole file as plain data, for paths and for what-if changes."""
        return self.file.model_dump(mode="json", exclude_unset=True)

    @property
    def file(self) -> Station:
        """The whole file, all ways in it."""
        return self.station if self.whole is None else self.whole

    @property
    def words(self) -> str:
        """The way in words; empty where there is only one."""
        return "" if self.view is None else self.view.words

    @property
    def is_low_flow(self) -> bool:
        """Whether this way carries the low flow only."""
        return self.view is not None and self.view.role == "low flow"

    def way_of(self, changed: Station) -> Station:
        """Return this way of a changed file."""
        if self.view is None:
            return changed
        return next(view.station for view in views(changed) if view.id == self.view.id)

    @property
    def worker(self) -> Reducer:
        """The reducer that holds the outlet: the last; of a worker and its monitor the lower set one."""
        reducers = self.layout.reducers
        if self.layout.pairing == "monitor":
            return min(reversed(reducers), key=lambda reducer: reducer.duty.pressure.si)
        return reducers[-1]

    @property
    def monitor(self) -> Reducer | None:
        """The reducer that stands wide open beside a worker and senses that place; None: there is none."""
        if self.layout.pairing != "monitor":
            return None
        worker = self.worker
        return next(reducer for reducer in self.layout.reducers if reducer is not worker)

    @property
    def outlet_tap(self) -> str:
        """The tap nearest to the consumers ahead of the outlet isolating valve; else the one sensed."""
        ends = (section for section in self.layout.sections if section.name == "outlet")
        taps = [tap.id for section in ends for tap in section.taps]
        return taps[-1] if taps else self.worker.senses

    @property
    def reliefs(self) -> tuple[Relief, ...]:
        """Relief valves on the outlet: behind the last reducer or shut-off."""
        at = self.layout.position
        last = max((at(p.id) for p in (*self.layout.reducers, *self.layout.shut_offs)), default=-1)
        return tuple(relief for relief in self.layout.reliefs if at(relief.id) > last)

    @property
    def vessels(self) -> tuple[ExpansionVessel, ...]:
        """Expansion vessels on the outlet: behind the last reducer or shut-off."""
        at = self.layout.position
        last = max((at(p.id) for p in (*self.layout.reducers, *self.layout.shut_offs)), default=-1)
        return tuple(vessel for vessel in self.layout.vessels if at(vessel.id) > last)

    @property
    def stuck_open_case(self) -> str:
        """The case in which a reducer stuck open is looked at, in words."""
        flow = "no flow drawn" if self.station.demand.zero_possible else "night flow"
        return f"highest static inlet pressure, {flow}"

    @property
    def density(self) -> float:
        """Density of the water. [kg/m³]"""
        return self.twin.water.density

    @property
    def datum(self) -> float:
        """Level of the station datum. [m]"""
        return self.station.station.datum.si

    def head(self, level: Value | None) -> float:
        """Return ρ g (level − datum); 0 where the level is not stated. [Pa]"""
        return 0.0 if level is None else self.density * GRAVITY * (level.si - self.datum)

    def supply_at_datum(self, inlet_case: InletCase) -> Value:
        """Return a supply pressure at the datum; an unstated night pressure is the static one. [Pa]"""
        supply = self.station.supply
        stated = {
            "lowest": supply.min,
            "typical": supply.typical,
            "night": supply.night or supply.static,
            "static": supply.static,
        }[inlet_case]
        if supply.level is None:
            return stated
        carried = to_datum(stated.si, level=supply.level.si, datum=self.datum, density=self.density)
        return stated.with_si(carried, stated.text)

    def flow(self, flow_case: FlowCase) -> Value | None:
        """Return the flow of a case; None: no fire flow stated. [m³/s]"""
        demand = self.station.demand
        return {"night": demand.night, "average": demand.average, "peak": demand.peak, "fire": demand.fire}[
            flow_case
        ]

    def path(self, part_id: str, *fields: str) -> Path:
        """Return the path of a part in the file, or of one of its fields."""
        found = _find(self.file.line, part_id, ("line",))
        return (*(found or ("line",)), *fields)

    def place(self, *path: str | int) -> str:
        """Return a path in a person's words, the subject of a finding."""
        return in_words(path, self.data)

    def part_place(self, part_id: str, *fields: str) -> str:
        """Return a part, or one of its fields, in a person's words."""
        return self.place(*self.path(part_id, *fields))


def _find(line: tuple[Any, ...], part_id: str, here: Path) -> Path | None:
    for index, part in enumerate(line):
        at = (*here, index)
        if part.id == part_id:
            return at
        if isinstance(part, Parallel):
            for number, branch in enumerate(part.branches):
                if branch.id == part_id:
                    return (*at, "branches", number)
                inner = _find(branch.line, part_id, (*at, "branches", number, "line"))
                if inner:
                    return inner
    return None
