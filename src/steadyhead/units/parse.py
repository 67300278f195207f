"""Read one quantity as a person types it: ``4.2 bar``, ``95 psi``, ``DN 100``, ``1 450 gpm``."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from difflib import get_close_matches

from steadyhead.units.table import KINDS, find, kinds_with, leaves_gallon_open, spellings_of, units_of

_NUMBER = r"[+\-\u2212]?(?:\d+(?:[ \u00a0\u2009\u202f]\d{3})*(?:[.,]\d+)*|[.,]\d+)(?:[eE][+\-]?\d+)?"
_FRACTION = re.compile(r"^\s*(?:(\d{1,4})(?:\s+|\s*-\s*))?(\d{1,4})\s*/\s*(\d{1,4})(?!\d)\s*(\D.*)?$")
_LEADING = re.compile(rf"^\s*({_NUMBER})\s*(.*?)\s*$")
_TRAILING = re.compile(rf"^\s*(DN|NPS|Kv|Cv)\s*=?\s*({_NUMBER})\s*$", re.IGNORECASE)
LONGEST_TEXT = 80
THOUSANDS_DIGITS = 3


class UnitError(ValueError):
    """Text that is no quantity of the kind asked for; says what was got and what to write."""

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(f"{problem} {remedy}")
        self.problem = problem
        self.remedy = remedy


@dataclass(frozen=True, slots=True)
class Parsed:
    """A quantity read from text: SI value, unit symbol, whether it was counted from vacuum.

    `gallon_open` is True where the text names a gallon without saying whose; the US gallon is read.
    """

    si: float
    number: float
    unit: str
    absolute: bool
    gallon_open: bool = False


def parse(text: str, kind: str) -> Parsed:
    """Read `text` as a quantity of `kind`.

    A decimal comma is read as such; a comma before exactly three digits may be a thousands mark or a
    decimal comma and is refused, never guessed (``0,125`` can only be a decimal comma).

    Raises
    ------
    UnitError
        No number, no unit, a unit of another kind, an ambiguous comma, or not finite.

    Examples
    --------
    >>> parse("4,2 bar", "pressure").si
    420000.0
    >>> parse("DN 100", "size").si
    0.1
    """
    if len(text) > LONGEST_TEXT:
        raise UnitError(f"got {len(text)} characters.", f"Write a number and a unit, {example(kind)}.")
    number, symbol = _split(text, kind)
    unit = find(kind, symbol) or find(kind, symbol.removesuffix("."))
    if unit is None:
        raise _wrong_unit(text, symbol, kind)
    si = number * unit.factor + unit.offset
    if not math.isfinite(si):
        raise UnitError(f"got {text!r}, which is not a finite number.", f"Write {example(kind)}.")
    return Parsed(si, number, unit.symbol, unit.absolute, leaves_gallon_open(symbol.removesuffix(".")))


def _split(text: str, kind: str) -> tuple[float, str]:
    trailing = _TRAILING.match(text)
    if trailing:
        return _number(trailing.group(2), text), trailing.group(1)
    fraction = _FRACTION.match(text)
    if fraction and int(fraction.group(3)) > 0:
        whole, above, below, rest = fraction.groups()
        return int(whole or 0) + int(above) / int(below), (rest or "").strip()
    leading = _LEADING.match(text)
    if not leading:
        raise UnitError(f"got {text!r}, which is no number with a unit.", f"Write {example(kind)}.")
    return _number(leading.group(1), text), leading.group(2)


def _number(digits: str, text: str) -> float:
    plain = re.sub(r"[ \u00a0\u2009\u202f]", "", digits).replace("\u2212", "-")
    if "," in plain:
        head, _, tail = plain.partition(",")
        if "." in plain or plain.count(",") > 1:
            last = max(plain.rfind("."), plain.rfind(","))
            joined = re.sub(r"[.,]", "", plain[:last]) + "." + plain[last + 1 :]
            raise UnitError(f"got {text!r}, with thousands marks.", f"Write {joined} if that is meant.")
        if len(tail.partition("e")[0].partition("E")[0]) == THOUSANDS_DIGITS and head.lstrip("+-") not in (
            "",
            "0",
        ):
            raise UnitError(
                f"got {text!r}: the comma may be a decimal comma or a thousands mark.",
                f"Write {head}.{tail} or {head}{tail} instead.",
            )
        plain = f"{head}.{tail}"
    if plain.count(".") > 1:
        raise UnitError(f"got {text!r}, with more than one decimal point.", "Write one decimal point.")
    return float(plain)


def _wrong_unit(text: str, symbol: str, kind: str) -> UnitError:
    if not symbol:
        return UnitError(f"got {text!r} without a unit.", f"Write the unit too, {example(kind)}.")
    own = _OTHER_MEANINGS.get((kind, "".join(symbol.split()).casefold()))
    if own is not None:
        return UnitError(f"got {text!r}; {own[0]}", own[1])
    other = [k for k in kinds_with(symbol) if k != kind]
    meant = f" {symbol} is a unit of {other[0].replace('_', ' ')}." if other else ""
    close = _close(symbol, kind) if not other or symbol in ("m", "ft") else ""
    hint = f"Did you mean {close!r}? " if close else ""
    return UnitError(
        f"got {text!r}; {symbol!r} is no unit of {kind.replace('_', ' ')}.{meant}",
        f"{hint}Use one of: {', '.join(units_of(kind))}.",
    )


def _close(symbol: str, kind: str) -> str:
    """Return the unit of this kind whose spelling is nearest to `symbol`, or an empty text.

    An absolute pressure is never proposed for a slip: it lies one atmosphere off the gauge pressure meant.
    """
    if symbol in ("m", "ft") and kind == "pressure":
        return f"{symbol} head"
    spelled = {
        words: unit
        for words, unit in spellings_of(kind).items()
        if (known := find(kind, unit)) is None or not known.absolute
    }
    found = get_close_matches("".join(symbol.split()).casefold(), list(spelled), n=1, cutoff=0.6)
    return spelled[found[0]] if found else ""


_POUND = (
    "a pound is a weight, and says nothing of the area it rests on.",
    "Write psi if pounds per square inch are meant.",
)
_OTHER_MEANINGS: dict[tuple[str, str], tuple[str, str]] = {
    ("pressure", "lb"): _POUND,
    ("pressure", "lbs"): _POUND,
    ("pressure", "lbf"): _POUND,
    ("pressure", "#"): _POUND,
    ("pressure", "pound"): _POUND,
    ("pressure", "pounds"): _POUND,
    ("pressure", "kg"): (
        "a kilogram is a mass, and says nothing of the area it rests on.",
        "Write kgf/cm² if kilograms-force per square centimetre are meant.",
    ),
    ("pressure", "in"): (
        "an inch may be of water or of mercury, and neither is a unit here.",
        "Write psi, bar, m head or ft head.",
    ),
    ("pressure", '"'): (
        "an inch may be of water or of mercury, and neither is a unit here.",
        "Write psi, bar, m head or ft head.",
    ),
    ("flow", "l"): (
        "litres are a volume; a flow needs a time too.",
        "Write L/s, L/min or L/h.",
    ),
    ("flow", "m3"): ("cubic metres are a volume; a flow needs a time too.", "Write m³/h or m³/d."),
    ("flow", "m³"): ("cubic metres are a volume; a flow needs a time too.", "Write m³/h or m³/d."),
    ("flow", "gal"): (
        "gallons are a volume; a flow needs a time too.",
        "Write US gpm, or imp gpm for imperial gallons.",
    ),
    ("temperature", "°"): ("degrees of which scale?", "Write °C or °F."),
    ("temperature", "deg"): ("degrees of which scale?", "Write °C or °F."),
}
"""Words people write that could mean several things; none is guessed."""

_EXAMPLES = {
    "pressure": "for example '4.2 bar' or '95 psi' (gauge; 'bar a' for absolute)",
    "flow": "for example '27 L/s' or '430 US gpm'",
    "leak": "for example '5 mL/min'",
    "length": "for example '142 m' or '466 ft'",
    "temperature": "for example '11 °C' or '52 °F'",
    "flow_coefficient": "for example 'Kv 170' or 'Cv 196'",
    "time": "for example '5.6 s' or '2 min'",
    "volume": "for example '280 m³' or '15 L'",
    "velocity": "for example '1150 m/s'",
    "ratio": "for example '80 %'",
    "turns": "for example '34 turns'",
    "pressure_per_turn": "for example '0.7 bar/turn'",
    "compressibility": "for example '6.1e-9 1/Pa'",
    "size": "for example 'DN 100' or '4 in'",
    "area": "for example '0.0175 m²'",
    "loss_factor": "for example '7.5e-4 bar/(L/s)²'",
}


def example(kind: str) -> str:
    """Return how a quantity of this kind is written, for remedies."""
    return _EXAMPLES.get(kind, f"a value in {KINDS[kind]}")
