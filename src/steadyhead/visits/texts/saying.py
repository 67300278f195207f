"""Turn a message into a sentence; the words stand in one catalogue per language."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from string import Formatter

from steadyhead.findings import CATALOGUE, Amount
from steadyhead.records.procedure import Message
from steadyhead.units import METRIC, UnitSet, format_value
from steadyhead.units import say as say_amount
from steadyhead.visits.texts.en import EN

LANGUAGES: Mapping[str, Mapping[str, str]] = {"en": EN}
LONG_TIME = 120.0
"""Times from here on are told in minutes. [s]"""
_SMALL = {"bar": 3, "psi": 2, "m head": 2, "ft head": 2, "kPa": 1}
_SMALL_PRESSURE = 1e4
_SMALL_VOLUME = 1e-4
_LARGE_LEAK = 1e-3 / 60.0


def say(message: Message, units: UnitSet = METRIC, language: str = "en") -> str:
    """Return the words of a message in the reader's units.

    A text parameter that starts with ``@`` is the id of another text; it is filled with the same parameters.

    Raises
    ------
    KeyError
        An id the catalogue does not have, or a parameter the words need and the message lacks.

    Examples
    --------
    >>> say(Message("A6.hose", {"td": "TD"}))
    'The hose fits TD; its end is led away and held.'
    >>> say(Message("D2.pump", {"t3": "T3", "pump_top": Amount("pressure", 5.5e5)}))
    'Pump T3 to 5.50 bar.'
    """
    return _fill(message.id, message.params, units, language)


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
    unit = units.unit(value.kind)
    if value.kind == "volume" and abs(value.si) < _SMALL_VOLUME:
        return f"{format_value(value.si, 'volume', 'mL', 0)} mL"
    if value.kind == "volume" and unit == "m³" and abs(value.si) < 1.0:
        return f"{format_value(value.si, 'volume', 'L', 0 if abs(value.si) >= 0.01 else 2)} L"
    if value.kind == "leak" and unit == "mL/min" and abs(value.si) >= _LARGE_LEAK:
        return f"{format_value(value.si, 'leak', 'L/min', 1)} L/min"
    if value.kind == "time" and unit == "s" and value.si >= LONG_TIME:
        return f"{format_value(value.si, 'time', 'min', 0)} min"
    if value.kind == "pressure" and 0.0 < abs(value.si) < _SMALL_PRESSURE and unit in _SMALL:
        return f"{_trimmed(format_value(value.si, 'pressure', unit, _SMALL[unit]))} {unit}"
    if value.kind == "ratio":
        return f"{_trimmed(format_value(value.si, 'ratio', '%', 1))} %"
    if value.kind in ("time", "velocity", "turns"):
        figure, _, symbol = say_amount(value.si, value.kind, units).partition(" ")
        return f"{_trimmed(figure)} {symbol}".rstrip()
    return say_amount(value.si, value.kind, units)


def _trimmed(figure: str) -> str:
    return figure.rstrip("0").rstrip(".") if "." in figure else figure


def refers(value: object, language: str = "en") -> bool:
    """Return whether a parameter is the id of another text; what a person typed after an @ is not."""
    return isinstance(value, str) and value.startswith("@") and value[1:] in LANGUAGES[language]


def _template(text_id: str, language: str) -> str:
    words = LANGUAGES[language]
    return words[text_id] if text_id in words else CATALOGUE[text_id].statement


def _fill(text_id: str, params: Mapping[str, Amount | str | int], units: UnitSet, language: str) -> str:
    said: dict[str, str] = {}
    for name in fields(text_id, language):
        value = params[name]
        if isinstance(value, Amount):
            said[name] = amount(value, units)
        elif refers(value, language):
            assert isinstance(value, str)
            said[name] = _fill(value[1:], params, units, language)
        else:
            said[name] = str(value)
    return _template(text_id, language).format_map(said)
