"""In which units the papers of a station are printed, and the dials of its gauges read."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field, StringConstraints, WithJsonSchema

from steadyhead.records.checking import bad
from steadyhead.records.parts import Record
from steadyhead.units import UnitError, read_units, units_of
from steadyhead.units.sets import LONGEST_CHOICE
from steadyhead.units.table import find


def _units(text: str) -> str:
    if text.strip():
        try:
            read_units(text)
        except UnitError as error:
            raise bad(error.problem, error.remedy) from None
    return text.strip()


def _dial(text: str) -> str:
    if not text.strip():
        return ""
    unit = find("pressure", text)
    if unit is None or unit.absolute:
        known = ", ".join(one for one in units_of("pressure") if not one.endswith(" a"))
        raise bad(f"got {text[:40]!r}, which is no unit of a gauge's dial.", f"Write one of: {known}.")
    return unit.symbol


UnitsChoice = Annotated[
    str,
    StringConstraints(max_length=LONGEST_CHOICE),
    AfterValidator(_units),
    WithJsonSchema({"type": "string", "maxLength": LONGEST_CHOICE}),
]
"""A choice of units as `steadyhead.units.read_units` reads it, e.g. ``us+metric``; may be empty."""
Dial = Annotated[
    str,
    StringConstraints(max_length=40),
    AfterValidator(_dial),
    WithJsonSchema({"type": "string", "maxLength": 40}),
]
"""Unit of pressure on a dial, e.g. ``psi``; may be empty."""


class Papers(Record):
    """Units of the papers of this station, as its crew reads them; nothing computed changes."""

    units: UnitsChoice = Field("", description="For every paper, as us+metric: the second in parentheses.")
    design_sheet: UnitsChoice = Field("", description="For the design sheet, in place of units.")
    plan: UnitsChoice = Field("", description="For the test plan, in place of units.")
    card: UnitsChoice = Field("", description="For the station card, in place of units.")

    def choice(self, paper: str) -> str:
        """Return what the file asks for on a paper, by the name of its field; empty where nothing.

        Examples
        --------
        >>> Papers(units="metric", card="us+metric").choice("card")
        'us+metric'
        """
        own = {"design_sheet": self.design_sheet, "plan": self.plan, "card": self.card}
        return own.get(paper, "") or self.units
