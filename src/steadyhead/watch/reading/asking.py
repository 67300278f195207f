"""Questions on units that a heading leaves open, names oddly, or states against what its column holds."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from steadyhead.records.logger import Choice, Doubt, Quantity, Statistic
from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.gather import Raw
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.scaled import factor_of, has_factor, in_words, likeliest, scaled, unit_beside
from steadyhead.watch.reading.symbols import Symbol, named, symbol

ASKED_UNITS: dict[Quantity, tuple[str, ...]] = {
    "chamber level": ("m", "cm", "mm", "ft"), "temperature": ("°C", "°F"), "meter index": ("m³", "L"),
    "other": ("", "m³", "L", "bar", "kPa", "psi", "m", "m³/h", "L/s"), "travel": ("%", "fraction"),
}  # fmt: skip
"""Units that an answer may give beside those of pressures and flows."""
KINDS = {
    "chamber level": "length",
    "temperature": "temperature",
    "meter index": "volume",
    "other": "",
    "travel": "ratio",
}
WARM = 32.0
"""Water warmer than this in °C is a question whether it is in °F. Own estimate."""
DEEP = 12.0
"""A level above this is no level in m of a chamber. Own estimate. [m]"""
WITHIN = 5.0
"""A counter without a unit counts in m³ where its rise is the known flow within this factor. Own estimate."""
FALLS = 0.05
"""A counter whose numbers fall more often than this, parts of its steps, counts each interval for itself."""
_A_TIME = {"s", "sec", "min", "h", "hr", "hour", "d", "day", "std", "tag"}
_FOREIGN = {
    "ma", "atm", "at", "torr", "imp", "impulse", "impulses", "pulse", "pulses", "count", "counts", "raw",
    "digit", "digits", "m/s", "ft/s",
}  # fmt: skip
"""Units at the end of a heading in which no pressure or flow is read."""
_ABOVE_SEA = re.compile(
    r"\b(?:m|ft)?[ .]?(?:AOD|AHD|NHN|NGF|NAP|AMSL|MSL|HGL)\b|\b(?:m|ft)[ .]?(?:RL|NN)\b"
    r"|\bm ?[uü]\.? ?(?:NN|NHN|M|A)\b|\bmaod\b|\bmahd\b"
)
"""Heads counted from the sea or a datum: less the height of the sensor they are pressures."""
_QUOTIENT = re.compile(r"[^\W\d_]{2,3}\d?/ ?[^\W\d_]{1,3}\.?[^\W\d_]{0,3}\d?")
"""Short letters over short letters, as a unit is written: ``Kg/Sq.cm``."""
_INSIDE = re.compile(r"[\[({]([^\])}]*)[\])}]")


@dataclass(frozen=True, slots=True)
class Meant:
    """What a series is taken for, why, and the doubt left."""

    quantity: Quantity
    unit: Symbol
    evidence: str
    doubt: Doubt | None


def has_strange_unit(heading: str) -> bool:
    """Return whether a heading names a unit that is not understood: a part, a multiple, one of an interval.

    Examples
    --------
    >>> [has_strange_unit(one) for one in ("Vordruck [1/10 bar]", "Flow [m3/5tag]", "Inlet bar x100")]
    [True, True, True]
    >>> [has_strange_unit(one) for one in ("P (upstream)", "T1 (a/b)", "P [bar]")]
    [False, False, False]
    """
    if has_factor(heading):
        return True
    if is_foreign(heading):
        return True
    for inside in _INSIDE.findall(heading):
        over = inside.rpartition("/")
        if symbol(inside) is None and over[1] and over[2].strip().casefold() in _A_TIME:
            return True
        if symbol(inside) is None and _QUOTIENT.fullmatch(inside.strip()):
            return True
        words = [one for one in re.split(r"[\s/]+", inside) if one]
        if symbol(inside) is None and any(symbol(one) is not None and len(one) > 1 for one in words):
            return True
    return False


def is_foreign(heading: str) -> bool:
    """Return whether a heading ends with a unit that is none of a pressure or flow: ``[mA]``, ``pulses``."""
    if _ABOVE_SEA.search(heading):
        return True
    return " ".join(heading.split()).rpartition(" ")[2].strip("[](){}").casefold() in _FOREIGN


def foreign(one: Raw, others: Iterable[str]) -> Meant:
    """Return a column in such a unit: kept, not used, and asked about; `others`: what else it may be."""
    why = "its unit is none of a pressure or flow"
    first = Choice("other, ", "as it stands: kept, not used", why)
    listed = tuple(Choice(value, value.replace(", ", " in ")) for value in others)
    doubt = Doubt("unit", f"Which unit is {one.heading!r} in?", (first, *listed), first.value)
    return Meant("other", named("", ""), why, doubt)


def settled_or_asked(one: Raw, quantity: Quantity, unit: Symbol, flow: float | None) -> Meant:
    """Return what a series with a unit, or of a quantity with a usual one, is; with its doubt.

    Parameters
    ----------
    flow
        About the mean flow, where it is known. [m³/s]
    """
    values = np.array([v for v in one.v if v is not None], dtype=float)
    if has_factor(one.heading):
        return _scale_asked(one, quantity, unit, values, flow)
    if quantity == "other" and one.unit is None and has(plain(one.heading), words.PULSES) and values.any():
        return _of_intervals(one, unit, "they are counts, and how much each is worth no heading tells")
    if unit.kind == "volume" and (quantity == "flow" or (quantity == "meter index" and _falls(values))):
        return _of_intervals(one, unit)
    if quantity == "travel" and is_share(one, unit):
        return _unit_asked(one, quantity, "fraction", "a spreadsheet shows 0.42 as 42 %")
    if one.unit is not None or not len(values):
        return Meant(quantity, unit, "", None)
    middle = float(np.median(np.abs(values)))
    if quantity == "chamber level":
        usual = "m" if middle <= DEEP else "cm" if middle <= 100 * DEEP else "mm"
        return _unit_asked(one, quantity, usual, "by what is usual")
    if quantity == "temperature" and middle > WARM:
        return _unit_asked(one, quantity, "°F", "water in mains is not that warm in °C")
    if quantity == "meter index" and not _counts(one, values, flow):
        return _unit_asked(one, quantity, "m³", "by what is usual")
    return Meant(quantity, unit, "", None)


def is_share(one: Raw, unit: Symbol) -> bool:
    """Return whether a column in % holds nothing above 1, and parts of 1: fractions shown as %, perhaps."""
    values = [v for v in one.v if v is not None]
    return unit.name == "%" and all(0 <= v <= 1 for v in values) and any(0 < v < 1 for v in values)


def _falls(values: np.ndarray) -> bool:
    steps = np.diff(values)
    return len(steps) >= 10 and float(np.mean(steps < 0)) > FALLS


def _counts(one: Raw, values: np.ndarray, flow: float | None) -> bool:
    """Return whether a counter rises as much as the known flow gives in m³."""
    spent = (max(one.local) - min(one.local)) / 1e6 if len(one.local) > 1 else 0.0
    if flow is None or flow <= 0 or spent <= 0 or values[-1] <= values[0]:
        return False
    return bool(1 / WITHIN < (values[-1] - values[0]) / spent / flow < WITHIN)


def _unit_asked(one: Raw, quantity: Quantity, usual: str, evidence: str) -> Meant:
    choices = tuple(
        Choice(f"{quantity}, {each}", f"{quantity} in {each}", evidence if each == usual else "")
        for each in ASKED_UNITS[quantity]
    )
    doubt = Doubt("unit", f"Which unit is {one.heading!r} in?", choices, f"{quantity}, {usual}")
    return Meant(quantity, named(KINDS[quantity], usual), evidence, doubt)


def _scale_asked(one: Raw, quantity: Quantity, unit: Symbol, values: np.ndarray, flow: float | None) -> Meant:
    """Return a column with a factor beside its unit, and the question whether its numbers stand so."""
    unit = unit_beside(one.heading) or unit
    units = scaled(unit, factor_of(one.heading))
    best = likeliest(quantity, units, float(np.median(values)) if len(values) else 0.0)
    if quantity == "meter index":
        best = next((each for each in units if _counts(one, values * each.factor, flow)), best)
    return Meant(quantity, best, "by what is usual", scale_doubt(one, quantity, units, best))


def scale_doubt(one: Raw, quantity: Quantity, units: Sequence[Symbol], best: Symbol) -> Doubt:
    """Return the question whether the numbers of a column are to be multiplied by its factor."""
    choices = tuple(
        Choice(
            f"{quantity}, {each.name}",
            f"{quantity} in {in_words(each)}" + (": as the numbers stand" if each is units[0] else ""),
            "by what is usual" if each is best else "",
        )
        for each in units
    )
    return Doubt("unit", f"Which unit is {one.heading!r} in?", choices, f"{quantity}, {best.name}")


def _of_intervals(
    one: Raw,
    unit: Symbol,
    evidence: str = "the numbers fall, or are called a flow: they are no counter's",
) -> Meant:
    """Return a column of volumes or pulses that is no counter: kept, not used, and asked about."""
    choices = (
        Choice(
            f"other, {unit.name}",
            f"counted in each interval{' in ' + unit.name if unit.name else ''}: kept, not used",
            evidence,
        ),
        Choice("flow, m³/h", "flow in m³/h"),
        Choice("flow, L/s", "flow in L/s"),
        Choice("meter index, m³", "a counter in m³"),
    )
    doubt = Doubt("quantity", f"What does {one.heading!r} measure?", choices, f"other, {unit.name}")
    return Meant("other", unit, evidence, doubt)


ONCE: tuple[Quantity, ...] = (
    "inlet pressure", "pressure between the valves", "outlet pressure", "flow", "travel", "shut-off closed",
)  # fmt: skip
"""What a station has once; measures and events look at the first column of it."""


def _together(one: Raw, other: Raw) -> bool:
    """Return whether two series run at one time; of two headings of a file one may go on from the other."""
    if not one.local or not other.local:
        return True
    return not (min(one.local) > max(other.local) or max(one.local) < min(other.local))


def apart(every: Sequence[Raw], meant: Sequence[Meant]) -> list[Meant]:
    """Return what the columns of a table are, with a question where two are taken for the same."""
    seen: dict[tuple[Quantity, Statistic | None, str], list[Raw]] = {}
    out = []
    for one, each in zip(every, meant, strict=True):
        key = (each.quantity, one.said.statistic, one.said.place or "")
        beside = any(_together(one, other) for other in seen.get(key, ()))
        if beside and each.quantity in ONCE and each.doubt is None and one.heading:
            unit = each.unit.name
            choices = (
                Choice(f"{each.quantity}, {unit}", f"{each.quantity} in {unit}: kept, the first one is used"),
                Choice(f"other, {unit}", "something else: kept, not used"),
            )
            question = f"Another column is {each.quantity}, too. What does {one.heading!r} measure?"
            each = replace(each, doubt=Doubt("quantity", question, choices, choices[0].value))
        seen.setdefault(key, []).append(one)
        out.append(each)
    return out
