"""The one table of units: symbol, other spellings, factor and offset to SI.

Factors follow from exact definitions (NIST SP 811, 2008, appendix B.8): 1 in = 0.0254 m,
1 lb = 0.45359237 kg, g_n = 9.80665 m/s², 1 US gallon = 231 in³, 1 imperial gallon = 4.54609 L.
The flow coefficient is kept as Kv [m³/h at 1 bar]; 1 US Cv = 1 gpm/√psi.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

INCH = 0.0254
FOOT = 0.3048
GRAVITY_STANDARD = 9.80665
PSI = 0.45359237 * GRAVITY_STANDARD / INCH**2
US_GALLON = 231 * INCH**3
IMPERIAL_GALLON = 4.54609e-3
ACRE_FOOT = 43560 * FOOT**3
KV_PER_CV = (US_GALLON / 60 * 3600) / sqrt(PSI / 1e5)


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: ``si = typed * factor + offset``.

    Parameters
    ----------
    symbol
        How it is printed.
    kind
        Kind of quantity, a key of `KINDS`.
    factor, offset
        To SI. [SI unit of the kind per unit]
    absolute
        True for a pressure counted from vacuum.
    spellings
        Other ways to write it; compared without regard to case and spaces, unless a spelling
        exists with two cases.
    """

    symbol: str
    kind: str
    factor: float
    offset: float = 0.0
    absolute: bool = False
    spellings: tuple[str, ...] = ()


KINDS: dict[str, str] = {
    "pressure": "Pa",
    "flow": "m³/s",
    "length": "m",
    "temperature": "K",
    "flow_coefficient": "m³/h at 1 bar",
    "time": "s",
    "volume": "m³",
    "velocity": "m/s",
    "ratio": "1",
    "turns": "turn",
    "pressure_per_turn": "Pa/turn",
    "compressibility": "1/Pa",
    "size": "m",
    "area": "m²",
    "leak": "m³/s",
    "loss_factor": "Pa/(m³/s)²",
}

_PRESSURES = (
    ("bar", 1e5, ("bar g", "barg", "bar(g)", "bars")),
    ("mbar", 1e2, ()),
    ("Pa", 1.0, ()),
    ("kPa", 1e3, ("kPa g", "kPag", "kPa(g)")),
    ("MPa", 1e6, ("MPa g", "MPag")),
    ("psi", PSI, ("psi g", "psig", "psi(g)", "lbf/in2", "lbf/in²", "lb/in2", "lb/in²", "lb/sq in")),
    (
        "m head",
        1e3 * GRAVITY_STANDARD,
        (
            "mH2O",
            "mH₂O",
            "mWC",
            "m WC",
            "mwg",
            "m wg",
            "m H2O",
            "mh",
            "m of head",
            "metres head",
            "metres of head",
            "meters head",
            "meters of head",
            "m of water",
            "metres of water",
        ),
    ),
    (
        "ft head",
        1e3 * GRAVITY_STANDARD * FOOT,
        (
            "ftH2O",
            "ft H2O",
            "ftH₂O",
            "ft WC",
            "ftwc",
            "ft of head",
            "feet head",
            "feet of head",
            "ft of water",
            "feet of water",
        ),
    ),
    ("kgf/cm²", GRAVITY_STANDARD * 1e4, ("kgf/cm2", "kg/cm2", "kg/cm²", "kgf/cm2 g", "kg/cm2 g")),
)
_ABSOLUTE = (
    ("bar a", 1e5, ("bara", "bar(a)", "bar abs")),
    ("mbar a", 1e2, ("mbara", "mbar abs")),
    ("kPa a", 1e3, ("kPaa", "kPa(a)", "kPa abs")),
    ("MPa a", 1e6, ("MPaa", "MPa abs")),
    ("psi a", PSI, ("psia", "psi(a)", "psi abs")),
)


def _build() -> tuple[Unit, ...]:
    table: list[Unit] = [Unit(s, "pressure", f, spellings=o) for s, f, o in _PRESSURES]
    table += [Unit(s, "pressure", f, absolute=True, spellings=o) for s, f, o in _ABSOLUTE]

    def add(kind: str, *rows: tuple[str, float, tuple[str, ...]]) -> None:
        table.extend(Unit(symbol, kind, factor, spellings=other) for symbol, factor, other in rows)

    for kind in ("flow", "leak"):
        add(
            kind,
            ("m³/s", 1.0, ("m3/s", "cumec")),
            ("m³/h", 1 / 3600, ("m3/h", "m3/hr", "m³/hr", "cmh", "cbm/h")),
            ("L/s", 1e-3, ("l/s", "lps", "l/sec", "litres/s", "liters/s")),
            ("L/min", 1e-3 / 60, ("l/min", "lpm")),
            ("L/h", 1e-3 / 3600, ("l/h",)),
            ("mL/min", 1e-6 / 60, ("ml/min",)),
            ("m³/d", 1 / 86400, ("m3/d", "m3/day")),
            ("Ml/d", 1e3 / 86400, ("ML/d", "mld")),
            ("US gpm", US_GALLON / 60, ("gpm", "usgpm", "gal/min", "US gal/min")),
            ("US gph", US_GALLON / 3600, ("gph", "gal/h", "US gal/h")),
            ("imp gpm", IMPERIAL_GALLON / 60, ("igpm", "imp gal/min", "UK gpm")),
            ("imp gph", IMPERIAL_GALLON / 3600, ("igph", "imp gal/h", "UK gph")),
            ("MGD", 1e6 * US_GALLON / 86400, ("US MGD",)),
            ("imp MGD", 1e6 * IMPERIAL_GALLON / 86400, ("MIGD", "IMGD", "UK MGD")),
            ("cfs", FOOT**3, ("ft3/s", "ft³/s", "cuft/s", "cu ft/s")),
            ("cfm", FOOT**3 / 60, ("ft3/min", "ft³/min", "cuft/min", "cu ft/min")),
            ("ac-ft/d", ACRE_FOOT / 86400, ("acft/d",)),
        )
    add(
        "length",
        ("m", 1.0, ("metre", "metres", "meter", "meters")),
        ("km", 1e3, ()),
        ("mm", 1e-3, ()),
        ("cm", 1e-2, ()),
        ("µm", 1e-6, ("um", "micron", "microns")),
        ("ft", FOOT, ("foot", "feet", "'")),
        ("in", INCH, ("inch", "inches", '"')),
        ("mi", 5280 * FOOT, ("mile", "miles")),
        ("yd", 3 * FOOT, ("yard", "yards")),
    )
    add("flow_coefficient", ("Kv", 1.0, ("m3/h/bar^0.5",)), ("Cv", KV_PER_CV, ("US Cv", "gpm/psi^0.5")))
    add(
        "time",
        ("s", 1.0, ("sec", "second", "seconds")),
        ("min", 60.0, ("minute", "minutes")),
        ("h", 3600.0, ("hr", "hour", "hours")),
        ("d", 86400.0, ("day", "days")),
        ("month", 86400.0 * 365.25 / 12, ("months",)),
        ("year", 86400.0 * 365.25, ("years", "yr", "a")),
        ("ms", 1e-3, ()),
    )
    add(
        "volume",
        ("m³", 1.0, ("m3", "cubic metres")),
        ("L", 1e-3, ("l", "litre", "litres", "liter", "liters")),
        ("mL", 1e-6, ("ml",)),
        ("Ml", 1e3, ("ML",)),
        ("US gal", US_GALLON, ("gal", "gallon", "gallons", "US gallon", "US gallons")),
        ("imp gal", IMPERIAL_GALLON, ("UK gal", "imp gallon", "imp gallons", "imperial gallons")),
        ("US kgal", 1e3 * US_GALLON, ("kgal",)),
        ("US fl oz", US_GALLON / 128, ("US fluid ounce", "US fluid ounces")),
        ("ft³", FOOT**3, ("ft3", "cuft", "cu ft", "cubic feet")),
    )
    add("velocity", ("m/s", 1.0, ()), ("ft/s", FOOT, ("fps", "ft/sec")))
    add("ratio", ("", 1.0, ("-",)), ("%", 1e-2, ("percent",)))
    add("turns", ("turns", 1.0, ("turn", "")), ("°", 1 / 360, ("deg", "degrees")))
    add(
        "pressure_per_turn",
        ("bar/turn", 1e5, ("bar per turn",)),
        ("psi/turn", PSI, ("psi per turn",)),
        ("kPa/turn", 1e3, ("kPa per turn",)),
        ("m head/turn", 1e3 * GRAVITY_STANDARD, ("m head per turn", "mH2O/turn")),
    )
    add(
        "compressibility",
        ("1/Pa", 1.0, ("/Pa", "Pa-1", "Pa^-1")),
        ("1/GPa", 1e-9, ("/GPa",)),
        ("1/bar", 1e-5, ("/bar",)),
    )
    add("size", ("DN", 1e-3, ("mm",)), ("in", INCH, ("inch", '"', "NPS")), ("m", 1.0, ()))
    add(
        "area",
        ("m²", 1.0, ("m2",)),
        ("cm²", 1e-4, ("cm2",)),
        ("mm²", 1e-6, ("mm2",)),
        ("in²", INCH**2, ("in2",)),
    )
    add("loss_factor", ("bar/(L/s)²", 1e5 / 1e-6, ("bar/(l/s)2", "bar/(L/s)2")))
    table.append(Unit("°C", "temperature", 1.0, 273.15, spellings=("C", "degC", "deg C")))
    table.append(Unit("°F", "temperature", 5 / 9, 273.15 - 32 * 5 / 9, spellings=("F", "degF", "deg F")))
    table.append(Unit("K", "temperature", 1.0, 0.0))
    return tuple(table)


_GALLONS_UNSAID = ("gpm", "gal/min", "gph", "gal/h", "mgd", "gal", "gallon", "gallons", "kgal")
"""Spellings read as US gallons that an imperial gallon is written as too."""


UNITS: tuple[Unit, ...] = _build()
_EXACT: dict[tuple[str, str], Unit] = {}
_LOOSE: dict[tuple[str, str], Unit] = {}
for _unit in UNITS:
    for _name in (_unit.symbol, *_unit.spellings):
        _EXACT.setdefault((_unit.kind, "".join(_name.split())), _unit)
        _LOOSE.setdefault((_unit.kind, "".join(_name.split()).casefold()), _unit)


def find(kind: str, symbol: str) -> Unit | None:
    """Return the unit of this kind written as `symbol`, or None."""
    squeezed = "".join(symbol.split())
    return _EXACT.get((kind, squeezed)) or _LOOSE.get((kind, squeezed.casefold()))


def leaves_gallon_open(symbol: str) -> bool:
    """Return whether this spelling names a gallon without saying whose; it is read as the US gallon.

    Examples
    --------
    >>> leaves_gallon_open("gpm"), leaves_gallon_open("US gpm"), leaves_gallon_open("imp gpm")
    (True, False, False)
    """
    return "".join(symbol.split()).casefold() in _GALLONS_UNSAID


def kinds_with(symbol: str) -> tuple[str, ...]:
    """Return the kinds that know a unit written as `symbol`, to say what was meant."""
    return tuple(kind for kind in KINDS if find(kind, symbol) is not None)


def units_of(kind: str) -> tuple[str, ...]:
    """Return the symbols a quantity of this kind may be written in."""
    return tuple(unit.symbol for unit in UNITS if unit.kind == kind and unit.symbol)


def spellings_of(kind: str) -> dict[str, str]:
    """Return every spelling of this kind, in lower case without blanks, with the symbol it stands for."""
    return {name: unit.symbol for (of, name), unit in _LOOSE.items() if of == kind and name}


def to_si(value: float, kind: str, symbol: str) -> float:
    """Return `value` in the SI unit of `kind`.

    Raises
    ------
    KeyError
        When the kind has no such unit.

    Examples
    --------
    >>> to_si(27.0, "flow", "L/s")
    0.027
    """
    unit = find(kind, symbol)
    if unit is None:
        raise KeyError(f"{symbol!r} is no unit of {kind}")
    return value * unit.factor + unit.offset


def from_si(value: float, kind: str, symbol: str) -> float:
    """Return an SI `value` in the unit `symbol`; the inverse of `to_si`.

    Examples
    --------
    >>> round(from_si(4.2e5, "pressure", "psi"), 3)
    60.916
    """
    unit = find(kind, symbol)
    if unit is None:
        raise KeyError(f"{symbol!r} is no unit of {kind}")
    return (value - unit.offset) / unit.factor
