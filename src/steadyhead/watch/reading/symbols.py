"""Units as loggers write them: any spelling to symbol, kind, factor and offset to SI."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace

from steadyhead.units.table import GRAVITY_STANDARD, find
from steadyhead.watch.reading.alphabets import UNITS as FAR_UNITS
from steadyhead.watch.reading.currents import of_range

WATER = 1e3 * GRAVITY_STANDARD
KINDS = ("pressure", "flow", "temperature", "volume", "ratio", "voltage", "length", "state")
LITRES_AN_HOUR = 1e-3 / 3600


@dataclass(frozen=True, slots=True)
class Symbol:
    """A unit of a file: ``SI = stated · factor + offset``; `absolute`: counted from vacuum."""

    name: str
    kind: str
    factor: float
    offset: float = 0.0
    absolute: bool = False


_MORE: dict[str, tuple[str, str]] = {
    # spelling without blanks, lower case: kind, symbol of the table
    "m3h": ("flow", "m³/h"), "m³h": ("flow", "m³/h"), "cbm/h": ("flow", "m³/h"), "m3/std": ("flow", "m³/h"),
    "m³/std": ("flow", "m³/h"), "m3/u": ("flow", "m³/h"), "m³/u": ("flow", "m³/h"),
    "m3/uur": ("flow", "m³/h"), "m³/uur": ("flow", "m³/h"), "m^3/h": ("flow", "m³/h"),
    "mc/h": ("flow", "m³/h"), "m3/heure": ("flow", "m³/h"), "m3/hora": ("flow", "m³/h"),
    "m3/ora": ("flow", "m³/h"), "m3ph": ("flow", "m³/h"), "cmh": ("flow", "m³/h"), "m3perh": ("flow", "m³/h"),
    "ls": ("flow", "L/s"), "lt/s": ("flow", "L/s"), "ltr/s": ("flow", "L/s"), "lit/s": ("flow", "L/s"),
    "l/sek": ("flow", "L/s"), "l/seg": ("flow", "L/s"), "l.s-1": ("flow", "L/s"), "ls-1": ("flow", "L/s"),
    "lmin": ("flow", "L/min"), "lt/min": ("flow", "L/min"), "l/mn": ("flow", "L/min"),
    "lit/min": ("flow", "L/min"), "ltr/min": ("flow", "L/min"), "l/std": ("flow", "L/h"),
    "l/uur": ("flow", "L/h"), "l/hr": ("flow", "L/h"), "lt/h": ("flow", "L/h"), "lph": ("flow", "L/h"),
    "kld": ("flow", "m³/d"), "m3/val": ("flow", "m³/h"), "m³/val": ("flow", "m³/h"),
    "m3/ho": ("flow", "m³/h"), "cu.m/hr": ("flow", "m³/h"), "cum/hr": ("flow", "m³/h"),
    "m3/t": ("flow", "m³/h"),
    "m3/tag": ("flow", "m³/d"), "m³/tag": ("flow", "m³/d"), "m3/j": ("flow", "m³/d"),
    "m³/j": ("flow", "m³/d"), "m3/jour": ("flow", "m³/d"), "m3/dia": ("flow", "m³/d"),
    "m3/dag": ("flow", "m³/d"), "m3/giorno": ("flow", "m³/d"), "m3/g": ("flow", "m³/d"),
    "m³/day": ("flow", "m³/d"), "cmd": ("flow", "m³/d"), "m3d": ("flow", "m³/d"),
    "usg/min": ("flow", "US gpm"), "gpm(us)": ("flow", "US gpm"), "galus/min": ("flow", "US gpm"),
    "mws": ("pressure", "m head"), "mca": ("pressure", "m head"), "m.c.a.": ("pressure", "m head"),
    "mc.a.": ("pressure", "m head"), "mce": ("pressure", "m head"), "mwk": ("pressure", "m head"),
    "mvs": ("pressure", "m head"), "mwg": ("pressure", "m head"), "mwater": ("pressure", "m head"),
    "mofwater": ("pressure", "m head"), "mw.s.": ("pressure", "m head"), "mca.": ("pressure", "m head"),
    "mho": ("pressure", "m head"), "mhead": ("pressure", "m head"), "mh20": ("pressure", "m head"),
    "metrew.c.": ("pressure", "m head"), "mw.c.": ("pressure", "m head"), "m.w.c.": ("pressure", "m head"),
    "mvp": ("pressure", "m head"), "mss": ("pressure", "m head"), "mv.sl.": ("pressure", "m head"),
    "mvsl": ("pressure", "m head"),
    "barue": ("pressure", "bar"), "barü": ("pressure", "bar"), "barrel": ("pressure", "bar"),
    "bar(rel)": ("pressure", "bar"), "barrelativ": ("pressure", "bar"), "bargauge": ("pressure", "bar"),
    "bars": ("pressure", "bar"), "psi(gauge)": ("pressure", "psi"), "psigauge": ("pressure", "psi"),
    "kp": ("pressure", "kPa"), "kpagauge": ("pressure", "kPa"), "kparel": ("pressure", "kPa"),
    "mpagauge": ("pressure", "MPa"), "hpa": ("pressure", "mbar"), "lbs/in2": ("pressure", "psi"),
    "kg/cm²": ("pressure", "kgf/cm²"), "barabs": ("pressure", "bar a"), "barabsolut": ("pressure", "bar a"),
    "kpaabs": ("pressure", "kPa a"), "bar(abs)": ("pressure", "bar a"), "psiabs": ("pressure", "psi a"),
    "gradc": ("temperature", "°C"), "gradcelsius": ("temperature", "°C"), "celsius": ("temperature", "°C"),
    "ºc": ("temperature", "°C"), "°celsius": ("temperature", "°C"), "oc": ("temperature", "°C"),
    "℃": ("temperature", "°C"), "degf": ("temperature", "°F"), "fahrenheit": ("temperature", "°F"),
    "prozent": ("ratio", "%"), "pct": ("ratio", "%"), "%offen": ("ratio", "%"), "%open": ("ratio", "%"),
    "pourcent": ("ratio", "%"), "procent": ("ratio", "%"), "porcentaje": ("ratio", "%"),
    "percentopen": ("ratio", "%"), "%auf": ("ratio", "%"), "%ouvert": ("ratio", "%"),
    "m3/sa": ("flow", "m³/h"), "m3/saat": ("flow", "m³/h"), "l/sn": ("flow", "L/s"),
    "m3/jam": ("flow", "m³/h"), "l/dt": ("flow", "L/s"), "l/det": ("flow", "L/s"),
    "kl/h": ("flow", "m³/h"), "kl/hr": ("flow", "m³/h"), "kl/d": ("flow", "m³/d"), "kl": ("volume", "m³"),
    "м3/ч": ("flow", "m³/h"), "м3/час": ("flow", "m³/h"), "м3/сут": ("flow", "m³/d"),
    "л/с": ("flow", "L/s"), "л/сек": ("flow", "L/s"), "л/мин": ("flow", "L/min"), "м3": ("volume", "m³"),
    "бар": ("pressure", "bar"), "кпа": ("pressure", "kPa"), "мпа": ("pressure", "MPa"),
    "кгс/см2": ("pressure", "kgf/cm²"), "кг/см2": ("pressure", "kgf/cm²"),
    "мвод.ст": ("pressure", "m head"), "мв.ст": ("pressure", "m head"), "°с": ("temperature", "°C"),
    "cbm": ("volume", "m³"), "m^3": ("volume", "m³"), "mc": ("volume", "m³"), "lt": ("volume", "L"),
    "ltr": ("volume", "L"), "liter": ("volume", "L"), "litros": ("volume", "L"), "litri": ("volume", "L"),
}  # fmt: skip
_OWN = {
    "v": Symbol("V", "voltage", 1.0), "volt": Symbol("V", "voltage", 1.0),
    "volts": Symbol("V", "voltage", 1.0),
    "vdc": Symbol("V", "voltage", 1.0), "mv": Symbol("mV", "voltage", 1e-3),
    "0/1": Symbol("state", "state", 1.0), "1/0": Symbol("state", "state", 1.0),
    "state": Symbol("state", "state", 1.0), "bool": Symbol("state", "state", 1.0),
    "0-1": Symbol("fraction", "ratio", 1.0), "frac": Symbol("fraction", "ratio", 1.0),
    "0..1": Symbol("fraction", "ratio", 1.0), "fraction": Symbol("fraction", "ratio", 1.0),
    **dict.fromkeys(
        ("m3/min", "m³/min", "m^3/min", "cbm/min", "m3min", "m3/mn", "m3/minute"),
        Symbol("m³/min", "flow", 1 / 60),
    ),
    **dict.fromkeys(
        ("gpd", "gal/d", "gal/day", "gallons/day", "gallonsperday", "usgpd"),
        Symbol("US gpd", "flow", 3.785411784e-3 / 86400),
    ),
    "cmh2o": Symbol("cm head", "pressure", WATER / 100), "cmws": Symbol("cm head", "pressure", WATER / 100),
    "cmwk": Symbol("cm head", "pressure", WATER / 100), "mmh2o": Symbol("mm head", "pressure", WATER / 1000),
}  # fmt: skip
TIMES = " × "
"""Between the name of a unit and the factor its numbers are to be multiplied by: ``bar × 0.01``."""
_OF_INTERVAL = re.compile(r"(m3|cbm|l|lt|ltr|liter)/(\d{1,4})(s|sec|min|mn|h|std)")
"""A volume in each interval, which is a flow."""
_INTERVALS = {"s": 1.0, "sec": 1.0, "min": 60.0, "mn": 60.0, "h": 3600.0, "std": 3600.0}
_TABLE_KINDS = ("pressure", "flow", "temperature", "volume", "ratio", "length")
_LETTERS_ALONE = {"c", "f", "k", "l", "h", "a", "d", "s", "'", '"', "in", "-", "", "min"}


def symbol(text: str) -> Symbol | None:
    """Return the unit written as `text`, or None.

    Examples
    --------
    >>> symbol("m³/h").name, symbol("mWS").name, symbol("bar abs").absolute, symbol("door")
    ('m³/h', 'm head', True, None)
    """
    plain = unicodedata.normalize("NFKC", text.replace("³", "3").replace("²", "2").replace("₂", "2"))
    squeezed = re.sub(r"\s+", "", plain).strip(".,:;=")
    low = squeezed.casefold()
    if "ma=" in low and (current := of_range(plain)) is not None:
        return Symbol(current.name, current.kind, current.factor, current.offset)
    if not low or len(low) > 16:
        return None
    if low in _OWN:
        return _OWN[low]
    if found := _OF_INTERVAL.fullmatch(low):
        return _of_interval(*found.groups())
    kind, name = _MORE.get(low) or FAR_UNITS.get(low, ("", ""))
    if not kind and low not in _LETTERS_ALONE | {"degrees", "deg", "°"}:
        for one in _TABLE_KINDS:
            unit = find(one, squeezed) or find(one, squeezed.removesuffix("."))
            if unit is not None and unit.symbol:
                kind, name = one, unit.symbol
                break
    if not kind:
        return None
    unit = find(kind, name)
    if unit is None:
        return None
    absolute = unit.absolute
    return Symbol(unit.symbol, kind, unit.factor, unit.offset, absolute)


def _of_interval(volume: str, number: str, time: str) -> Symbol:
    short, size = ("m³", 1.0) if volume in ("m3", "cbm") else ("L", 1e-3)
    every = {"sec": "s", "mn": "min", "std": "h"}.get(time, time)
    return Symbol(f"{short}/{int(number)} {every}", "flow", size / (int(number) * _INTERVALS[time]))


def named(kind: str, name: str) -> Symbol:
    """Return the unit of `kind` with the symbol `name`, as `Symbol`; "" is a bare number."""
    bare, scale, factor = name.partition(TIMES)
    if scale:
        unit = named(kind, bare)
        return replace(unit, name=name, factor=unit.factor * float(factor))
    for own in _OWN.values():
        if own.name == name:
            return own
    if kind == "flow" and name[-1:].isalpha() and any(one.isdigit() for one in name):
        return symbol(name) or Symbol(name, kind, 1.0)
    if " mA = " in name and (current := symbol(name)) is not None:
        return current
    found = find(kind, name) if name else None
    if found is None:
        return Symbol(name, kind, 1.0)
    return Symbol(found.symbol, kind, found.factor, found.offset, found.absolute)
