"""Turn a message into a sentence; the words stand in one catalogue per language."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from string import Formatter

from steadyhead.findings import CATALOGUE, Amount
from steadyhead.records.procedure import Message
from steadyhead.units import METRIC, UnitSet, format_edge, format_value, from_si, paired, to_si
from steadyhead.units import say as say_amount
from steadyhead.units.display import usual_digits
from steadyhead.visits.texts.en import EN

LANGUAGES: Mapping[str, Mapping[str, str]] = {"en": EN}
LONG_TIME = 120.0
"""Times from here on are told in minutes. [s]"""
_TWICE = re.compile(r"\b([\w-]+) \(\1\)")
"""A name whose role is called by the same word: ``main (main)``."""
_BRANCHES = re.compile(r"\[([^\[\]]*)\]")
_FIGURE = re.compile(r"\d+(?:\.\d+)?")
_SMALL = {"bar": 3, "psi": 2, "m head": 2, "ft head": 2, "kPa": 1}
_SMALL_PRESSURE = 1e4
_SMALL_VOLUME = 1e-4
_LARGE_LEAK = 1e-3 / 60.0
MOST_ALLOWED = ("test_limit", "test_limit_between", "pump_top", "pump_stop", "leak_limit", "trip_high")
"""Parameters that name the most allowed: rounded down, so that the printed figure is never past the limit."""
LEAST_ALLOWED = ("trip_low", "order_sure")
"""Parameters that name the least allowed: rounded up."""
ORDER = "order"
"""Parameter that holds the parts of a line in walking order, as a plan has it: branches in brackets."""
UNSAID = "(not said in this plan)"
UNKNOWN = "(This version has no words for {}: read the paper made with the plan.)"
_MOST_FINER = 6
"""Decimals more than usual, at most, for a band narrower than its unit's last decimal."""


def say(message: Message, units: UnitSet = METRIC, language: str = "en") -> str:
    """Return the words of a message in the reader's units.

    A text parameter that starts with ``@`` is the id of another text; it is filled with the same parameters.
    A kept plan may be older than the words: what it lacks is said in its place and stops no page. Making a
    plan is strict (`fields`).

    Examples
    --------
    >>> say(Message("A6.hose", {"td": "TD"}))
    'The hose fits TD; its end is led away and held.'
    >>> say(Message("D2.pump", {"t3": "T3", "pump_top": Amount("pressure", 5.5e5)}))
    'Pump T3 to 5.50 bar.'
    """
    if not is_known(message.id, language):
        return UNKNOWN.format(message.id)
    return _TWICE.sub(r"\1", _fill(message.id, message.params, units, language))


def is_known(text_id: str, language: str = "en") -> bool:
    """Return whether the catalogue has this text."""
    return text_id in LANGUAGES[language] or text_id in CATALOGUE


@cache
def fields(text_id: str, language: str = "en") -> frozenset[str]:
    """Return the parameters a text needs.

    Examples
    --------
    >>> sorted(fields("C2.speed"))
    ['fill_speed', 'fill_surge']
    """
    return frozenset(name for _, name, _, _ in Formatter().parse(_template(text_id, language)) if name)


def amount(value: Amount, units: UnitSet = METRIC) -> str:
    """Return an amount as the steps print it: litres below a cubic metre, minutes from two minutes on.

    Examples
    --------
    >>> amount(Amount("volume", 0.0144)), amount(Amount("time", 900.0)), amount(Amount("pressure", 7.5e3))
    ('14 L', '15 min', '0.075 bar')
    """
    return paired(lambda one: _amount(value, one), units)


def about(value: Amount, units: UnitSet = METRIC) -> str:
    """Return an amount as it stands behind *about*: two digits, three where the first is a one.

    Examples
    --------
    >>> about(Amount("flow", 0.04988)), about(Amount("flow", 0.01246)), about(Amount("time", 900.0))
    ('50 L/s', '12.5 L/s', '15 min')
    """
    return paired(lambda one: _FIGURE.sub(_rounded, _amount(value, one), count=1), units)


def _rounded(figure: re.Match[str]) -> str:
    """Return a printed figure with no more digits than *about* bears."""
    number = float(figure[0])
    if number == 0.0:
        return figure[0]
    lead = math.floor(math.log10(abs(number)))
    places = (2 if f"{abs(number):e}".startswith("1") else 1) - lead
    _, _, told = figure[0].partition(".")
    return f"{round(number, places):.{max(min(places, len(told)), 0)}f}"


def _amount(value: Amount, units: UnitSet) -> str:
    shape = _shape(value, units)
    if shape is None:
        return say_amount(value.si, value.kind, units)
    return _in_shape(format_value(value.si, value.kind, shape.unit, shape.digits), shape)


@dataclass(frozen=True, slots=True)
class _Shape:
    """In which unit an amount is told, with how many decimals, and whether noughts behind are left out."""

    unit: str
    digits: int | None
    trimmed: bool


def _shape(value: Amount, units: UnitSet) -> _Shape | None:
    """Return how an amount is told where that differs from what is usual for its kind."""
    unit, size = units.unit(value.kind), abs(value.si)
    if value.kind == "volume" and size < _SMALL_VOLUME:
        return _Shape("US fl oz", 2, trimmed=False) if unit == "US gal" else _Shape("mL", 0, trimmed=False)
    if value.kind == "volume" and unit == "m³" and size < 1.0:
        return _Shape("L", 0 if size >= 0.01 else 2, trimmed=False)
    if value.kind == "leak" and unit == "mL/min" and size >= _LARGE_LEAK:
        return _Shape("L/min", 1, trimmed=False)
    if value.kind == "time" and unit == "s" and value.si >= LONG_TIME:
        return _Shape("min", 0, trimmed=False)
    if value.kind == "pressure" and 0.0 < size < _SMALL_PRESSURE and unit in _SMALL:
        return _Shape(unit, _SMALL[unit], trimmed=True)
    if value.kind == "ratio":
        return _Shape("%", 1, trimmed=True)
    if value.kind in ("time", "velocity", "turns"):
        return _Shape(unit, None, trimmed=True)
    return None


def _in_shape(figure: str, shape: _Shape) -> str:
    return f"{_trimmed(figure) if shape.trimmed else figure} {shape.unit}".rstrip()


def edges(low: float | None, high: float | None, kind: str, units: UnitSet = METRIC) -> tuple[str, str]:
    """Return both ends of a band as the steps print amounts, rounded into the band; ``any`` where open.

    What is read on a printed end lies in the band.

    Examples
    --------
    >>> edges(4.9968e5, 5.4032e5, "pressure"), edges(None, 7.5e3, "pressure")
    (('5.00 bar', '5.40 bar'), ('any', '0.075 bar'))
    """
    told = [_edges(low, high, kind, one) for one in units.each(kind)]
    first, *second = told
    if not second or second[0] == first:
        return first
    joined = [a if a == b else f"{a} ({b})" for a, b in zip(first, second[0], strict=True)]
    return joined[0], joined[1]


def band_words(low: str, high: str) -> str:
    """Return a band as a sentence tells it, of its ends as `edges` gives them.

    Examples
    --------
    >>> band_words("5.00 bar", "5.40 bar"), band_words("any", "0.075 bar"), band_words("2 s", "any")
    ('5.00 bar to 5.40 bar', 'up to 0.075 bar', 'at least 2 s')
    """
    if low == "any":
        return "anything" if high == "any" else f"up to {high}"
    return f"at least {low}" if high == "any" else f"{low} to {high}"


def _edges(low: float | None, high: float | None, kind: str, units: UnitSet) -> tuple[str, str]:
    for finer in range(_MOST_FINER):
        numbers = [_edge(low, kind, units, finer, up=True), _edge(high, kind, units, finer, up=False)]
        if low is None or high is None or numbers[0][0] <= numbers[1][0]:
            break
    return numbers[0][1], numbers[1][1]


def _edge(si: float | None, kind: str, units: UnitSet, finer: int, *, up: bool) -> tuple[float, str]:
    """Return one end as a number in SI, to see that the ends did not cross, and in words."""
    if si is None:
        return 0.0, "any"
    shape = _shape(Amount(kind, si), units) or _Shape(units.unit(kind), None, trimmed=False)
    number = from_si(si, kind, shape.unit)
    digits = (usual_digits(number, kind, shape.unit) if shape.digits is None else shape.digits) + finer
    figure = format_edge(si, kind, shape.unit, digits, up=up)
    return to_si(float(figure.replace("\u2212", "-")), kind, shape.unit), _in_shape(figure, shape)


def _trimmed(figure: str) -> str:
    return figure.rstrip("0").rstrip(".") if "." in figure else figure


def refers(value: object, language: str = "en") -> bool:
    """Return whether a parameter is the id of another text; what a person typed after an @ is not."""
    return isinstance(value, str) and value.startswith("@") and is_known(value[1:], language)


def in_walking_order(order: str) -> str:
    """Return the parts of a line in walking order in words; what is no such list comes back as it is.

    Examples
    --------
    >>> in_walking_order("T1, [main: IV1, RV | low: LB], T3")
    'T1, then side by side main (IV1, RV) and low (LB), then T3'
    """
    while found := _BRANCHES.search(order):
        ways = [one.partition(":") for one in found[1].split("|")]
        told = [f"{name.strip()} ({parts.strip()})" for name, _, parts in ways]
        beside = f"side by side {', '.join(told[:-1])}{' and ' if told[1:] else ''}{told[-1]}"
        before, after = order[: found.start()].rstrip(), order[found.end() :]
        then = "then " if before.endswith(",") else ""
        onward = f", then {after[1:].lstrip()}" if after.startswith(",") else after
        order = f"{before}{' ' if before else ''}{then}{beside}{onward}"
    return order


def _template(text_id: str, language: str) -> str:
    words = LANGUAGES[language]
    return words[text_id] if text_id in words else CATALOGUE[text_id].statement


def _fill(text_id: str, params: Mapping[str, Amount | str | int], units: UnitSet, language: str) -> str:
    """Fill a text. A plan made before a text asked for more keeps its run readable: what it lacks is said."""
    said: dict[str, str] = {}
    for name in fields(text_id, language):
        value = params.get(name, UNSAID)
        if isinstance(value, Amount) and name in MOST_ALLOWED:
            said[name] = edges(None, value.si, value.kind, units)[1]
        elif isinstance(value, Amount) and name in LEAST_ALLOWED:
            said[name] = edges(value.si, None, value.kind, units)[0]
        elif isinstance(value, Amount) and f"about {{{name}}}" in _template(text_id, language):
            said[name] = about(value, units)
        elif isinstance(value, Amount):
            said[name] = amount(value, units)
        elif refers(value, language):
            assert isinstance(value, str)
            said[name] = _fill(value[1:], params, units, language)
        elif name == ORDER and isinstance(value, str):
            said[name] = in_walking_order(value)
        else:
            said[name] = str(value)
    return _template(text_id, language).format_map(said)
