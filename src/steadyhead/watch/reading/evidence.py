"""Quantity and unit where the heading is silent: by what is known of the station and by test gauges."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

import numpy as np

from steadyhead.records.logger import Choice, Context, Doubt, Quantity
from steadyhead.watch.reading.asking import (
    Meant,
    apart,
    foreign,
    has_strange_unit,
    is_foreign,
    is_share,
    settled_or_asked,
)
from steadyhead.watch.reading.gather import Raw
from steadyhead.watch.reading.headings import KIND_OF
from steadyhead.watch.reading.own_units import into_unit
from steadyhead.watch.reading.plausible import far_asked
from steadyhead.watch.reading.pulses import of_pulses
from steadyhead.watch.reading.scaled import (
    factor_of,
    has_factor,
    in_words,
    scaled,
    unit_beside,
    unscaled_unit,
)
from steadyhead.watch.reading.stamps import US
from steadyhead.watch.reading.symbols import Symbol, named

PRESSURES: tuple[Quantity, ...] = ("inlet pressure", "outlet pressure", "pressure between the valves")
UNITS: dict[str, tuple[tuple[str, float], ...]] = {
    "pressure": (("bar", 0.0), ("kPa", 0.5), ("m head", 0.5), ("psi", 0.5), ("MPa", 0.6), ("mbar", 0.6)),
    "flow": (("m³/h", 0.0), ("L/s", 0.3), ("US gpm", 0.8), ("L/min", 0.8), ("m³/d", 1.0), ("L/h", 1.0)),
}  # fmt: skip
"""Units a silent column may be in, with a handicap in standard deviations."""
WITHIN_VISIT, WITHIN_PRESSURE, WITHIN_FLOW = 0.03, 0.18, 0.35
"""Spread of the logarithm of channel over gauge at a visit, over the pressure known, over the flow known."""

FAR = 4.0
"""A silent unit is asked for where its values lie so many spreads off what is known. Own estimate."""

NEAR = {"pressure": 1.7, "flow": 3.0}
"""The middle of a column is near what is known within this factor. Own estimates."""


@dataclass(frozen=True, slots=True)
class _Try:
    quantity: Quantity
    unit: Symbol
    score: float
    words: str
    grounded: bool


def settle(series: list[tuple[Raw, np.ndarray]], context: Context) -> list[Meant]:
    """Return what each series is; the second of each is its times, UTC µs."""
    tries = [_tries(one, utc, context) for one, utc in series]
    taken: list[Meant | None] = [None] * len(series)
    used: set[tuple[Quantity, str]] = {
        (found[0].quantity, str(one.said.statistic)) for (one, _), found in zip(series, tries, strict=True)
        if one.said.quantity is not None and found
    }  # fmt: skip
    by_sureness = sorted(range(len(series)), key=lambda at: tries[at][0].score if tries[at] else 99.0)
    alike(series, tries)
    _by_rank(series, tries)
    for at in by_sureness:
        one = series[at][0]
        if (known := _remembered(one, context)) is not None:
            taken[at] = known
            continue
        if (counted := of_pulses(one)) is not None:
            taken[at] = Meant(*counted)
            continue
        listed = tries[at]
        if not listed:
            unit = one.unit or named("", "")
            taken[at] = Meant(one.said.quantity or "other", unit, "", None)
            continue
        free = [
            found
            for found in listed
            if one.said.quantity or (found.quantity, str(one.said.statistic)) not in used
        ]
        if one.said.quantity is None and not free:
            taken[at] = _named_already(one, listed)
            continue
        best = (free or listed)[0]
        used.add((best.quantity, str(one.said.statistic)))
        taken[at] = _meant(one, best, free or listed, context)
    out = [one for one in taken if one is not None]
    for (raw, _), each in zip(series, out, strict=True):
        into_unit(raw, each.unit)
    if context.profile is not None:
        return out
    if series and all(one.quantity == "other" and one.doubt is None for one in out):
        return [_unknown(*one, each, context) for one, each in zip(series, out, strict=True)]
    raws = [one for one, _ in series]
    return apart(raws, far_asked(raws, out, context.known))


def _named_already(one: Raw, listed: list[_Try]) -> Meant:
    """Return a column without words where all it could be is named by others; a pressure is asked about.

    By its values alone a difference or a setting looks like the pressure that it lies near.
    """
    unit = _stated(one) or named("", "")
    if unit.kind != "pressure" and not one.said.pressure:
        return Meant("other", unit, "", None)
    first = Choice(
        f"other, {unit.name}", "something else: kept, not used", "another column is what it lies near"
    )
    choices = (first, *_choices(listed))
    question = f"What does {one.heading or 'the column without heading'!r} measure?"
    return Meant("other", unit, "", Doubt("quantity", question, choices, first.value))


def _choices(listed: list[_Try]) -> tuple[Choice, ...]:
    return tuple(
        Choice(f"{each.quantity}, {each.unit.name}", f"{each.quantity} in {in_words(each.unit)}", each.words)
        for each in listed[:3]
    )


def _unknown(one: Raw, utc: np.ndarray, meant: Meant, context: Context) -> Meant:
    """Return a column of a table of which nothing is known, with the question what it measures."""
    values = {v for v in one.v if v is not None}
    if one.said.quantity == "other" or one.unit is not None or len(values) < 4:
        return meant
    choices = [Choice("other, ", "something else: kept, not used", "its heading says nothing that is known")]
    for quantity in (*PRESSURES[:2], "flow"):
        best = min((_try(one, utc, quantity, each, context) for each in _units(None, quantity)), key=_score)
        choices.append(Choice(f"{quantity}, {best.unit.name}", f"{quantity} in {best.unit.name}", best.words))
    called = repr(one.heading) if one.heading else "the column without heading"
    doubt = Doubt("quantity", f"What does {called} measure?", tuple(choices), choices[0].value)
    return Meant(meant.quantity, meant.unit, meant.evidence, doubt)


def _score(one: _Try) -> float:
    return one.score


def _remembered(one: Raw, context: Context) -> Meant | None:
    """Return what the profile of the source says of a heading; None: it says nothing."""
    if context.profile is None:
        return None
    for column in context.profile.columns:
        if column.use == "value" and column.quantity is not None and column.heading == one.heading:
            stated = _stated(one)
            if stated is not None and column.quantity != "other" and stated.kind != KIND_OF[column.quantity]:
                stated = None
            if stated is not None and column.unit == "fraction" and is_share(one, stated):
                stated = None
            unit = stated or named(KIND_OF[column.quantity], column.unit)
            return Meant(column.quantity, unit, "as remembered for this source", None)
    return None


def _stated(one: Raw) -> Symbol | None:
    """Return the unit a series states; None where a factor stands beside it, too."""
    return None if has_factor(one.heading) else one.unit


def _by_rank(series: list[tuple[Raw, np.ndarray]], tries: list[list[_Try]]) -> None:
    """Of two pressures without a place and without anything known: the higher is the inlet."""
    loose = [
        at
        for at, (one, _) in enumerate(series)
        if one.said.quantity is None and tries[at] and not tries[at][0].grounded
    ]
    loose = [at for at in loose if tries[at][0].quantity in PRESSURES]
    if len(loose) < 2:
        return
    middles = {at: _middle(series[at][0]) * tries[at][0].unit.factor for at in loose}
    ranked = sorted(loose, key=lambda at: -middles[at])
    between: list[Quantity] = ["pressure between the valves"] * (len(ranked) - 2)
    names: list[Quantity] = ["inlet pressure", *between, "outlet pressure"]
    for at, name in zip(ranked, names, strict=True):
        tries[at] = [one for one in tries[at] if one.quantity == name] + [
            one for one in tries[at] if one.quantity != name
        ]


def alike(series: list[tuple[Raw, np.ndarray]], tries: list[list[_Try]]) -> None:
    """Put first the one unit that fits all pressures without one best, where nothing is known of them."""
    silent = [
        found for (one, _), found in zip(series, tries, strict=True)
        if _stated(one) is None and found and not found[0].grounded and found[0].quantity in PRESSURES
        and not has_factor(one.heading)
    ]  # fmt: skip
    if len(silent) < 2:
        return
    sums: dict[str, float] = {}
    for found in silent:
        for name in {one.unit.name for one in found}:
            score = min(one.score for one in found if one.unit.name == name)
            sums[name] = sums.get(name, 0.0) + score
    best = min(sums, key=lambda name: sums[name])
    for found in silent:
        found.sort(key=lambda one: (one.unit.name != best, one.score))


def _middle(one: Raw) -> float:
    values = [v for v in one.v if v is not None]
    return float(np.median(values)) if values else 0.0


def _tries(one: Raw, utc: np.ndarray, context: Context) -> list[_Try]:
    """Return the readings possible of a series, best first; empty where nothing speaks for any."""
    quantity, unit = one.said.quantity, _stated(one)
    if quantity is not None and (unit is not None or KIND_OF[quantity] not in UNITS):
        return [_Try(quantity, unit or _usual_unit(one, quantity), 0.0, "", True)]
    if quantity is None and not one.said.pressure and unit is None and not _anything_known(context):
        return []
    quantities: tuple[Quantity, ...] = (
        (quantity,) if quantity else PRESSURES[:2] if one.said.pressure else (*PRESSURES[:2], "flow")
    )
    if quantity is None and unit is None and not one.said.pressure:
        values = [v for v in one.v if v is not None]
        if not values or set(values) <= {0.0, 1.0} or len(set(values)) < 4:
            return []
    found = [
        _try(one, utc, each, (given, handicap), context)
        for each in quantities
        for given, handicap in _units_of(one, unit, each)
        if unit is None or unit.kind == KIND_OF[each]
    ]  # fmt: skip
    found.sort(key=lambda each: each.score)
    if quantity is None and unit is None and not one.said.pressure and (not found or found[0].score > 2.5):
        return []
    return found


def _units(stated: Symbol | None, quantity: Quantity) -> list[tuple[Symbol, float]]:
    """Return the units a column may be in, each with its handicap."""
    kind = KIND_OF[quantity]
    return [(stated, 0.0)] if stated else [(named(kind, name), handicap) for name, handicap in UNITS[kind]]


def _units_of(one: Raw, stated: Symbol | None, quantity: Quantity) -> list[tuple[Symbol, float]]:
    """Return the units a column may be in, with the factor that its heading names, too."""
    if not has_factor(one.heading):
        return _units(stated, quantity)
    beside = unit_beside(one.heading)
    if beside is not None and beside.kind != KIND_OF[quantity]:
        return []
    factor = factor_of(one.heading)
    return [(each, handicap) for unit, handicap in _units(beside, quantity) for each in scaled(unit, factor)]


def _usual_unit(one: Raw, quantity: Quantity) -> Symbol:
    """Return the unit of a quantity that is not worth a question."""
    values = [abs(v) for v in one.v if v is not None]
    most = max(values, default=0.0)
    if quantity == "travel":
        return named("ratio", "%") if most > 1.5 else named("ratio", "fraction")
    if quantity == "shut-off closed" or one.state:
        return named("state", "state")
    usual = {
        "temperature": "°C",
        "battery": "V" if most < 100 else "mV",
        "meter index": "m³",
        "chamber level": "m",
    }
    name = usual.get(quantity, "")
    return named(KIND_OF[quantity], name)


def _anything_known(context: Context) -> bool:
    known = context.known
    return any(one is not None for one in (known.inlet, known.lockup, known.flow)) or bool(context.visits)


def _try(one: Raw, utc: np.ndarray, quantity: Quantity, unit: tuple[Symbol, float], context: Context) -> _Try:
    symbol_, handicap = unit
    at_visits = _at_visits(one, utc, quantity, symbol_, context)
    if at_visits:
        off = float(np.median([abs(log(a / b)) for a, b in at_visits]))
        stated, gauge = at_visits[0]
        read, said_ = _say(gauge, symbol_), _say(stated, symbol_)
        shown = f"at a visit the gauge read {read}, the file says {said_} {symbol_.name}"
        return _Try(quantity, symbol_, min(off / WITHIN_VISIT, 60.0) / 3 + handicap, shown, True)
    expected = _expected(quantity, context)
    middle = abs(_middle(one)) * symbol_.factor
    if expected is None or middle <= 0:
        usual = {"pressure": 4e5 if quantity == "outlet pressure" else 8e5, "flow": 1e-2}[KIND_OF[quantity]]
        off = abs(log(middle / usual)) if middle > 0 else 3.0
        return _Try(quantity, symbol_, off / 1.0 + handicap, "", False)
    within = WITHIN_FLOW if quantity == "flow" else WITHIN_PRESSURE
    off = abs(log(middle / expected))
    bare = unscaled_unit(symbol_)
    near = f"{_say(expected, bare)} {bare.name}"
    is_near = off < log(NEAR[KIND_OF[quantity]])
    where = f"lies near {near}, as expected" if is_near else f"would be far from {near}, which is known"
    shown = f"the middle value {_say(middle, bare)} {where}"
    return _Try(quantity, symbol_, off / within + handicap, shown, True)


def _say(si: float, unit: Symbol) -> str:
    return f"{(si - unit.offset) / unit.factor:.4g}"


def _expected(quantity: Quantity, context: Context) -> float | None:
    known = context.known
    if quantity == "outlet pressure":
        return None if known.lockup is None else known.lockup * 0.93
    if quantity == "pressure between the valves":
        return known.inlet
    return known.flow if quantity == "flow" else known.inlet


def _at_visits(
    one: Raw, utc: np.ndarray, quantity: Quantity, unit: Symbol, context: Context
) -> list[tuple[float, float]]:
    """Return value of the file and of the gauge at each visit with both, SI."""
    out: list[tuple[float, float]] = []
    if not len(utc):
        return out
    order = np.argsort(utc, kind="stable")
    near = max(2 * (context.interval or 300.0), 900.0) * US
    for visit in context.visits:
        gauge = {"inlet pressure": visit.inlet, "outlet pressure": visit.outlet, "flow": visit.flow}.get(
            quantity
        )
        if gauge is None or gauge <= 0:
            continue
        when = int(visit.when.timestamp() * US)
        at = int(np.searchsorted(utc[order], when))
        close = [
            order[k]
            for k in range(max(0, at - 2), min(len(order), at + 2))
            if abs(int(utc[order[k]]) - when) <= near
        ]
        values = [v for k in close if (v := one.v[int(k)]) is not None and v > 0]
        if values:
            out.append((exp(sum(log(v) for v in values) / len(values)) * unit.factor, gauge))
    return out


def _meant(one: Raw, best: _Try, listed: list[_Try], context: Context) -> Meant:
    if one.said.quantity is not None and (_stated(one) or KIND_OF[one.said.quantity] not in UNITS):
        return settled_or_asked(one, best.quantity, best.unit, context.known.flow)
    other = next(
        (
            each
            for each in listed
            if each is not best and (each.unit, each.quantity) != (best.unit, best.quantity)
        ),
        None,
    )
    close = other is not None and (
        other.score - best.score < 1.2
        or not best.grounded
        or best.score > FAR
        or has_strange_unit(one.heading)
    )
    evidence = best.words or "by what is usual"
    if not close or other is None:
        return Meant(best.quantity, best.unit, evidence, None)
    if is_foreign(one.heading):
        return foreign(one, (f"{each.quantity}, {each.unit.name}" for each in listed[:3]))
    about = "unit" if one.said.quantity is not None else "quantity"
    question = (
        f"Which unit is {one.heading!r} in?"
        if about == "unit"
        else f"What does {one.heading or 'the column without heading'!r} measure?"
    )
    choices = _choices(listed)
    if about == "quantity":
        stated = _stated(one)
        choices = (
            *choices,
            Choice(f"other, {stated.name if stated else ''}", "something else: kept, not used"),
        )
    return Meant(
        best.quantity,
        best.unit,
        evidence,
        Doubt(about, question, choices, f"{best.quantity}, {best.unit.name}"),
    )
