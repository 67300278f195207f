"""Sentences on logger data in the reader's units.

A sentence is kept as it was told, in bar and L/s. Where a reader uses other units its values are turned as it
is shown; what is kept, and what a program gets, stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any, Final, TypeVar

from pydantic import BaseModel

from steadyhead.services.logs.in_units import resistance_unit, square_factor
from steadyhead.units import METRIC, UnitSet, from_si, paired, say, to_si
from steadyhead.units.display import usual_digits
from steadyhead.watch.counting import two_figures

V = TypeVar("V", bound=BaseModel)

NAMES: Final = frozenset(
    {"words", "evidence", "assumptions", "sign", "next", "clocks", "not_measured", "order"}
)
"""Fields of a view that hold sentences of ours; others hold names, times and numbers."""
LIMIT, WHOSE = "limit", "source"
"""A limit, and whose it is: never told by a value that is held against it. `source` beside it is ours."""
_KINDS: Final = {"bar": "pressure", "L/s": "flow", "°C": "temperature"}
_DECIMALS: Final = {"bar": 2, "L/s": 2, "°C": 1}
"""Decimals that a value of a sentence usually has; one with more keeps as many more."""
_ROUNDED: Final = 2
"""Decimals to which sentences round a value behind them; figures with others are exact as they stand."""
MOST: Final = 9
"""Decimals beyond which nothing is told apart."""
DETAILS: Final = 600
"""Values of a measure's curve that are held against those of its sentence, at most."""

_NUMBER: Final = r"(?<![\w.:/–-])[−+±]?\d+(?:\.\d+)?"
_UNIT: Final = r"(?:bar|L/s|°C)(?![\w/(²]|\s(?:a|abs)\b)"
_SQUARE: Final = "bar/(L/s)²"
_VALUES: Final = re.compile(
    rf"(?P<ratio>(?<=moves by )1 bar the outlet moves by [−+]?[\d.]+ bar)"
    rf"|(?P<square>{_NUMBER}) {re.escape(_SQUARE)}"
    rf"|(?P<height>{_NUMBER}) m(?= (?:above|below) the datum)"
    rf"|(?P<bare>(?<=it stood at ){_NUMBER})(?=, [\d.]+ times that)"
    rf"|(?:(?P<low>{_NUMBER})(?: (?P<same>{_UNIT}))?(?P<to> to | and ))?"
    rf"(?P<value>{_NUMBER}) (?P<unit>{_UNIT})"
)
"""Values as sentences on logger data write them: alone, from one to another, a loss over flow squared."""


def spoken(words: str, units: UnitSet = METRIC, exact: Sequence[float] = ()) -> str:
    """Return a sentence on logger data with its values in the reader's units.

    exact: values behind it, SI; one that reads as the sentence has it, with two decimals, is told by its own
    figures. A figure with fewer or more decimals, as that of a limit, is exact as it stands.

    Examples
    --------
    >>> from steadyhead.units import US
    >>> spoken("The outlet falls by 0.13 bar from 3.10 to 12.00 L/s.", US, (1.261e4,))
    'The outlet falls by 1.8 psi from 49.1 to 190 US gpm.'
    >>> spoken("limit 0.1 bar more", US, (1.4e4,))
    'limit 1.5 psi more'
    >>> spoken("The outlet reached 6.31 bar.", METRIC)
    'The outlet reached 6.31 bar.'
    """
    if _is_as_kept(units):
        return words
    return _VALUES.sub(lambda found: _told(found, units, exact), words)


def _is_as_kept(units: UnitSet) -> bool:
    """Return whether a reader, or both, use the units in which sentences are kept."""
    every = [units.first] if units.second is None else [units.first, units.second]
    kept = (*_KINDS.items(), ("m", "length"))
    return all(one.unit(kind) == unit for one in every for unit, kind in kept)


def _told(found: re.Match[str], units: UnitSet, exact: Sequence[float]) -> str:
    whole = found.group()
    if found["ratio"]:
        return whole.replace(" bar", f" {units.unit('pressure')}")
    if found["height"]:
        return paired(lambda one: _height(found["height"], one), units)
    if found["square"] or found["bare"]:
        figure = found["square"] or found["bare"]
        with_unit = whole if found["square"] else f"{whole} {_SQUARE}"
        told = paired(lambda one: _square(figure, with_unit, one, exact), units)
        return whole if told == with_unit else told
    return paired(lambda one: _values(found, one, exact), units)


def _height(figure: str, units: UnitSet) -> str:
    """Return the height of a gauge over the datum, as close as the sentence tells it."""
    if units.unit("length") == "m":
        return f"{figure} m"
    return say(_plain(figure), "length", units, _places(figure))


def _square(figure: str, whole: str, units: UnitSet, exact: Sequence[float]) -> str:
    """Return a loss over flow squared in the units of one reader; `whole`: as the sentence has it."""
    if resistance_unit(units) == _SQUARE:
        return whole
    kept = square_factor(METRIC)
    si = _exact(figure, lambda si: two_figures(si / kept), exact)
    si = _plain(figure) * kept if si is None else si
    return f"{two_figures(si / square_factor(units))} {resistance_unit(units)}"


def _values(found: re.Match[str], units: UnitSet, exact: Sequence[float]) -> str:
    """Return one value, or two from one to the other, in the units of one reader."""
    unit = found["unit"]
    kind = _KINDS[unit]
    if units.unit(kind) == unit and found["same"] in (None, unit):
        return found.group()
    value = _one(found["value"], unit, exact)
    if found["low"] is None:
        return _figure(found["value"], unit, value, units, 0)
    if found["same"] not in (None, unit):
        low = _figure(found["low"], found["same"], _one(found["low"], found["same"], exact), units, 0)
        return f"{low}{found['to']}{_figure(found['value'], unit, value, units, 0)}"
    low_value = _one(found["low"], unit, exact)
    for more in range(MOST):
        low, high = (
            _figure(figure, unit, si, units, more)
            for figure, si in ((found["low"], low_value), (found["value"], value))
        )
        if low != high or found["low"] == found["value"]:
            break
    if found["same"] is None:
        low = low.removesuffix(f" {units.unit(kind)}")
    return f"{low}{found['to']}{high}"


def _one(figure: str, unit: str, exact: Sequence[float]) -> float:
    """Return a value of a sentence in SI: the one behind it, where it is known."""
    places = _places(figure)
    kind = _KINDS[unit]
    si = None
    if places == _ROUNDED and unit != "°C":
        si = _exact(figure, lambda si: f"{from_si(si, kind, unit):.{places}f}", exact)
    return to_si(_plain(figure), kind, unit) if si is None else si


def _exact(figure: str, said: Callable[[float], str], exact: Sequence[float]) -> float | None:
    bare = figure.lstrip("−+±")
    found = next((abs(si) for si in exact if said(abs(si)) == bare), None)
    return None if found is None else -found if figure.startswith("−") else found


def _figure(figure: str, unit: str, si: float, units: UnitSet, more: int) -> str:
    """Return a value as this reader reads it, as close as the sentence tells it. more: further decimals."""
    kind = _KINDS[unit]
    target = units.unit(kind)
    if target == unit:
        return f"{figure} {unit}"
    number = from_si(si, kind, target)
    places = usual_digits(number, kind, target) + max(0, _places(figure) - _DECIMALS[unit])
    if kind == "temperature":
        places = _places(figure)
    places += more
    while places < MOST and any(one in "123456789" for one in figure) and not round(number, places):
        places += 1
    told = say(si, kind, units, places)
    return f"{figure[0]}{told.lstrip('−')}" if figure[0] in "+±" else told


def _places(figure: str) -> int:
    return len(figure.partition(".")[2])


def _plain(figure: str) -> float:
    return float(Decimal(figure.replace("−", "-").lstrip("+±")))


def told_in(view: V, units: UnitSet = METRIC, known: Sequence[float] = ()) -> V:
    """Return a view with the values of its sentences in the reader's units; itself where they are so.

    known: values that its sentences may name beside their own, SI: bounds that they are held against.
    """
    return view if _is_as_kept(units) else _view(view, units, known)


def _view(view: V, units: UnitSet, known: Sequence[float]) -> V:
    exact = (*exact_of(view), *known)
    changed: dict[str, Any] = {}
    fields = type(view).model_fields
    for name in fields:
        value = getattr(view, name)
        if LIMIT in fields and name in (LIMIT, WHOSE):
            told = spoken(value, units, known if name == LIMIT else ()) if isinstance(value, str) else value
        else:
            told = _field(name, value, units, exact, known)
        if told is not value:
            changed[name] = told
    return view.model_copy(update=changed) if changed else view


def _field(name: str, value: Any, units: UnitSet, exact: Sequence[float], known: Sequence[float]) -> Any:
    if isinstance(value, str):
        return spoken(value, units, exact) if name in NAMES else value
    if isinstance(value, BaseModel):
        return _view(value, units, known)
    if isinstance(value, tuple):
        return tuple(_field(name, one, units, exact, known) for one in value)
    return value


def exact_of(view: BaseModel) -> tuple[float, ...]:
    """Return the values, SI, that a view holds beside its sentence."""
    names = ("value", "magnitude", "low", "high")
    found = [one for one in (getattr(view, name, None) for name in names) if isinstance(one, float)]
    details = getattr(view, "details", None)
    if isinstance(details, Mapping):
        found += _numbers(details)[:DETAILS]
    return tuple(found)


def _numbers(value: Any) -> list[float]:
    if isinstance(value, float):
        return [value]
    if isinstance(value, Mapping):
        return [number for one in value.values() for number in _numbers(one)]
    if isinstance(value, list | tuple):
        return [number for one in value for number in _numbers(one)]
    return []
