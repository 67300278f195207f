"""Units that lines ahead of the samples state: ``Pressure unit: bar``, ``Q = flow in l/s; P in bar``."""

from __future__ import annotations

import re
from collections.abc import Sequence

from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.sources import Row
from steadyhead.watch.reading.symbols import Symbol, symbol

PRESSURES = ("inlet pressure", "outlet pressure", "pressure between the valves")
_STATED = re.compile(r"([^\W\d_][\w ]*?)\s+(?:in|en)\s+([^\s,;|]+)")


def header_units(header: Sequence[Row]) -> dict[str, Symbol]:
    """Return units that header rows state, by quantity; both pressures alike."""
    out: dict[str, Symbol] = {}
    for _, cells in header:
        line = " ".join(str(one) for one in cells if one != "")
        for unit in _units(line):
            for name in PRESSURES if unit.kind == "pressure" else ("flow",):
                out.setdefault(name, unit)
    return out


def _units(line: str) -> list[Symbol]:
    if any(one in plain(line).split() for one in words.UNIT):
        tokens = line.replace(",", " ").replace(";", " ").replace(":", " ").replace("=", " ").split()
        found = [_unit(token) for token in tokens]
        return [one for one in found if one is not None]
    out = []
    for named, stated in _STATED.findall(line):
        unit = _unit(stated.rstrip("."))
        listed = words.PRESSURE + words.OF_PRESSURE if unit and unit.kind == "pressure" else words.FLOW
        if unit is not None and has(plain(named), listed):
            out.append(unit)
    return out


def _unit(text: str) -> Symbol | None:
    unit = symbol(text.strip("[]()"))
    if unit is not None and unit.name == "m":
        unit = symbol("mh2o")
    return unit if unit is not None and unit.kind in ("pressure", "flow") else None
