"""What every judgement of one station starts from: layout, water, twin, places in the file."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Protocol

from steadyhead.records.design import FlowCase, InletCase
from steadyhead.records.parts import Parallel
from steadyhead.records.station import Station
from steadyhead.records.steady import Steady
from steadyhead.records.values import Value
from steadyhead.station.defaults import GRAVITY
from steadyhead.station.elevation import to_datum
from steadyhead.station.layout import Layout, read_layout
from steadyhead.station.refusal import Path, in_words


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


@dataclass(frozen=True)
class Basis:
    """One station, read once.

    Parameters
    ----------
    station
        The typed file.
    twin
        Its steady twin.
    """

    station: Station
    twin: Twin
    layout: Layout = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "layout", read_layout(self.station))

    @cached_property
    def data(self) -> dict[str, Any]:
        """The station as plain data, for paths and for what-if changes."""
        return self.station.model_dump(mode="json", exclude_unset=True)

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
        found = _find(self.station.line, part_id, ("line",))
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
