"""How people of a region read quantities; nothing computed depends on it."""

from __future__ import annotations

from dataclasses import dataclass, field

from steadyhead.units.parse import UnitError, parse
from steadyhead.units.table import from_si

_DIGITS: dict[str, int] = {
    "bar": 2, "psi": 1, "kPa": 0, "MPa": 3, "m head": 1, "ft head": 1, "mbar": 0, "Pa": 0,
    "L/s": 2, "m³/h": 1, "US gpm": 0, "L/min": 1, "mL/min": 0, "US gph": 1, "m": 1, "ft": 1, "mm": 1, "in": 2,
    "°C": 1, "°F": 1, "1/GPa": 2, "Kv": 1, "Cv": 1, "s": 1, "min": 0, "h": 1, "m³": 1, "L": 0, "US gal": 0,
    "m/s": 1, "ft/s": 1, "%": 0, "": 2, "turns": 2, "bar/turn": 2, "psi/turn": 1, "DN": 0,
    "m²": 4,
}  # fmt: skip


_COUNTED = ("L", "US gal", "imp gal")
"""Units of volume in which water let off is counted; more than three digits would be read as measured."""


@dataclass(frozen=True, slots=True)
class UnitSet:
    """The display unit for each kind of quantity, and the decimal mark."""

    name: str
    units: dict[str, str] = field(default_factory=dict)
    decimal: str = "."

    def unit(self, kind: str) -> str:
        """Return the symbol this person reads `kind` in."""
        return self.units.get(kind, METRIC_UNITS[kind])


METRIC_UNITS: dict[str, str] = {
    "pressure": "bar", "flow": "L/s", "length": "m", "temperature": "°C", "flow_coefficient": "Kv",
    "time": "s", "volume": "m³", "velocity": "m/s", "ratio": "%", "turns": "turns",
    "pressure_per_turn": "bar/turn", "compressibility": "1/GPa", "size": "DN", "area": "m²", "leak": "mL/min",
    "loss_factor": "bar/(L/s)²",
}  # fmt: skip
METRIC = UnitSet("metric", dict(METRIC_UNITS))
UK = UnitSet("uk", {**METRIC_UNITS, "pressure": "m head"})
US = UnitSet(
    "us",
    {
        **METRIC_UNITS,
        "pressure": "psi", "flow": "US gpm", "length": "ft", "temperature": "°F",
        "flow_coefficient": "Cv", "volume": "US gal", "velocity": "ft/s",
        "pressure_per_turn": "psi/turn", "size": "in", "leak": "US gph",
    },
)  # fmt: skip


_SIZES: tuple[tuple[int, str], ...] = (
    (8, "1/4"), (10, "3/8"), (15, "1/2"), (20, "3/4"), (25, "1"), (32, "1 1/4"), (40, "1 1/2"), (50, "2"),
    (65, "2 1/2"), (80, "3"), (100, "4"), (125, "5"), (150, "6"), (200, "8"), (250, "10"), (300, "12"),
    (350, "14"), (400, "16"), (450, "18"), (500, "20"), (600, "24"), (700, "28"), (800, "32"), (900, "36"),
)  # fmt: skip
"""Nominal sizes: DN of ISO 6708 with the inch size it goes with (common practice)."""
SAME_SIZE = 0.06
"""A bore this near to a nominal size is called by its name. [1]"""


def _nominal(bore: float, unit: str) -> str | None:
    """Return the trade's name of a nominal size, or None where no nominal size is near."""
    best = min(_SIZES, key=lambda row: min(abs(bore * 1e3 / row[0] - 1), abs(bore / _inches(row[1]) - 1)))
    off = min(abs(bore * 1e3 / best[0] - 1), abs(bore / _inches(best[1]) - 1))
    if off > SAME_SIZE:
        return None
    return f"DN {best[0]}" if unit == "DN" else f"{best[1]} in"


def _inches(name: str) -> float:
    total = 0.0
    for piece in name.split():
        above, _, below = piece.partition("/")
        total += float(above) / float(below or 1)
    return total * 0.0254


def format_value(si: float, kind: str, unit: str, digits: int | None = None, *, signed: bool = False) -> str:
    """Return the bare figure of an SI value in `unit`, with the trade's usual number of decimals.

    The minus is U+2212; minus zero is printed as zero.

    Examples
    --------
    >>> format_value(4.2e5, "pressure", "bar")
    '4.20'
    """
    places = digits
    if places is None and kind == "volume" and unit in _COUNTED:
        return _three_figures(from_si(si, kind, unit))
    if places is None:
        places = _DIGITS.get(unit, 3)
    figure = f"{from_si(si, kind, unit):+.{places}f}" if signed else f"{from_si(si, kind, unit):.{places}f}"
    if float(figure) == 0.0:
        figure = f"{0.0:.{places}f}"
    return figure.replace("-", "\u2212")


def _three_figures(number: float) -> str:
    """Return a figure with the three digits that an amount of water is known to; fewer below a hundred."""
    size = abs(number)
    if size >= 99.5:
        number = float(f"{number:.3g}")
    places = 0 if size >= 9.95 or size == 0.0 else 1 if size >= 0.95 else 2
    figure = f"{number:.{places}f}"
    return f"{0.0:.{places}f}" if float(figure) == 0.0 else figure.replace("-", "\u2212")


def say_typed(si: float, text: str, kind: str, units: UnitSet = METRIC) -> str:
    """Return a value as it was typed where the reader uses that unit, else figure and unit of that reader.

    Examples
    --------
    >>> say_typed(96.0, "314.96 ft", "length", US), say_typed(95.9998, "314.96 ft", "length", METRIC)
    ('314.96 ft', '96.0 m')
    """
    try:
        typed_in = parse(text, kind).unit
    except UnitError:
        typed_in = ""
    return " ".join(text.split()) if typed_in == units.unit(kind) else say(si, kind, units)


def say_short(si: float, kind: str, units: UnitSet = METRIC) -> str:
    """Return figure and unit in three figures, however small: for values nobody stated.

    Examples
    --------
    >>> say_short(1.26e4, "pressure"), say_short(2012.46, "flow_coefficient"), say_short(1e-5, "ratio")
    ('0.126 bar', 'Kv 2010', '0.00001')
    """
    unit = "" if kind == "ratio" else units.unit(kind)
    number = float(f"{from_si(si, kind, unit):.3g}")
    figure = f"{number:.9f}".rstrip("0").rstrip(".").replace("-", "\u2212").replace(".", units.decimal)
    return f"{unit} {figure}" if unit in ("DN", "Kv", "Cv") else f"{figure} {unit}".rstrip()


def say(
    si: float, kind: str, units: UnitSet = METRIC, digits: int | None = None, *, signed: bool = False
) -> str:
    """Return figure and unit as a person of this region reads it.

    Examples
    --------
    >>> say(0.1, "size")
    'DN 100'
    >>> say(4.2e5, "pressure", US)
    '60.9 psi'
    """
    unit = units.unit(kind)
    named = _nominal(si, unit) if kind == "size" else None
    if named is not None:
        return named
    figure = format_value(si, kind, unit, digits, signed=signed)
    if units.decimal != ".":
        figure = figure.replace(".", units.decimal)
    if unit in ("DN", "Kv", "Cv"):
        return f"{unit} {figure}"
    return f"{figure} {unit}".rstrip()
