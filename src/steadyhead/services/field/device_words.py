"""Tables of words and units for a device without a server: what `web/assets/field/saying.js` says by.

They hold no words of a plan: those go along filled in. Everything here is plain data, ready for JSON.
"""

from __future__ import annotations

from typing import Any

from steadyhead.findings import CATALOGUE
from steadyhead.services.running_words import CLOCK, DEVIATION, MEND, STRAY, TOOL, UNFIT, UNKNOWN, UNNAMED
from steadyhead.units import UnitSet
from steadyhead.units.display import format_value, say, usual_digits
from steadyhead.units.table import KINDS, UNITS, Unit, to_si
from steadyhead.visits.advising.words import AGAIN, COARSE, FIRST, LIVE, PAST_LIMIT, SAYS

ROUNDS = (1000.0, 100.0, 10.0, 1.0, 0.1)
"""Figures below which a unit may be printed with one more decimal. [1]"""
NAMED = ("size",)
"""Kinds told by the names of the trade, which a device never says by itself."""
PREFIX = "RUN-"


def unit_table(units: UnitSet) -> dict[str, Any]:
    """Return a person's units as data: those they read, and every unit a figure may be typed in.

    ``shown``: unit by kind, one map or two where the second stands in parentheses. ``kinds``: the units of
    each kind, the reader's first: ``si = typed * factor + offset``, usual decimals, ``finer``: figures below
    which there is one more, ``before``: it stands before its figure, ``three``: told in three figures.
    """
    shown = [units.first, *([units.second.first] if units.second is not None else [])]
    kinds = [kind for kind in KINDS if kind not in NAMED]
    return {
        "name": units.name,
        "decimal": units.decimal,
        "shown": [{kind: one.unit(kind) for kind in kinds} for one in shown],
        "kinds": {kind: _units(kind, units.unit(kind)) for kind in kinds},
    }


def _units(kind: str, own: str) -> list[dict[str, Any]]:
    found = [_unit(unit) for unit in UNITS if unit.kind == kind and not unit.absolute]
    return sorted(found, key=lambda one: one["unit"] != own)


def _unit(unit: Unit) -> dict[str, Any]:
    kind, symbol = unit.kind, unit.symbol
    digits = usual_digits(0.0, kind, symbol)
    finer = [
        below
        for below in ROUNDS
        if usual_digits(0.999 * below, kind, symbol) > usual_digits(below, kind, symbol)
    ]
    reader = UnitSet("one", {kind: symbol})
    is_before = bool(symbol) and say(0.5, kind, reader).startswith(symbol)
    is_three = kind == "volume" and format_value(to_si(1234.0, kind, symbol), kind, symbol) == "1230"
    return {
        "unit": symbol,
        "factor": unit.factor,
        "offset": unit.offset,
        "digits": digits,
        **({"finer": finer} if finer else {}),
        **({"before": True} if is_before else {}),
        **({"three": True} if is_three else {}),
    }


def remark_table() -> dict[str, Any]:
    """Return the words of the judge's remarks as templates: by code, by reason, and what mends them.

    ``codes``: title, statement, why and cure of each code of a run; ``reasons``: what stands for ``{how}`` by
    code and ``why``; ``unplaced``: why nobody can place a thing that was touched; ``then``: what to do about
    a deviation by ``why``; ``mend``: by weight.
    """
    words = {code: one for code, one in CATALOGUE.items() if code.startswith(PREFIX)}
    return {
        "codes": {
            code: {"title": one.title, "statement": one.statement, "why": one.why, "cure": one.cure}
            for code, one in words.items()
        },
        "reasons": {
            "RUN-03": dict(CLOCK),
            "RUN-05": dict(STRAY),
            "RUN-06": dict(UNFIT),
            "RUN-16": {why: told for why, (told, _) in DEVIATION.items()},
            "RUN-91": dict(TOOL),
        },
        "unplaced": {"unnamed": UNNAMED, "unknown": UNKNOWN},
        "then": {why: then for why, (_, then) in DEVIATION.items()},
        "mend": {severity.value: words for severity, words in MEND.items()},
    }


def advice_table() -> dict[str, Any]:
    """Return the words of the adviser: by status, and what is said beside a turn."""
    return {
        "says": dict(SAYS),
        "again": {name: list(texts) for name, texts in AGAIN.items()},
        "coarse": COARSE,
        "past_limit": PAST_LIMIT,
        "first": FIRST,
        "live": LIVE,
    }
