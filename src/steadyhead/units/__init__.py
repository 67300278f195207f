"""Quantities at the edge of the house: text with a unit in, SI floats inside, display units out."""

from steadyhead.units.display import METRIC, UK, US, UnitSet, format_value, say, say_short, say_typed
from steadyhead.units.parse import Parsed, UnitError, parse
from steadyhead.units.table import KINDS, Unit, from_si, to_si, units_of

__all__ = [
    "KINDS",
    "METRIC",
    "UK",
    "US",
    "Parsed",
    "Unit",
    "UnitError",
    "UnitSet",
    "format_value",
    "from_si",
    "parse",
    "say",
    "say_short",
    "say_typed",
    "to_si",
    "units_of",
]
