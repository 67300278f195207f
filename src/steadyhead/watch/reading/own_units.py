"""Units that stand in the cells: numbers in another unit than the rest of their column are turned into it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from steadyhead.records.logger import Fact
from steadyhead.watch.counting import counted
from steadyhead.watch.reading.symbols import Symbol, symbol

if TYPE_CHECKING:
    from steadyhead.watch.reading.gather import Raw

MOST = 0.5
"""Share of a column's numbers from which the unit beside them is that of the bare ones, too. Own estimate."""


def settle_own(one: Raw, ahead: Symbol | None) -> Counter[str]:
    """Take the unit that stands beside most numbers for that of the column, where its heading states none.

    ahead: the unit that lines ahead of the table state, which is taken else; None: they state none.

    Returns the marks of numbers that are none in the column's unit.
    """
    filled = sum(value is not None for value in one.v)
    if one.unit is None and one.own and len(one.own) >= MOST * filled:
        common = Counter(unit.name for _, unit in one.own.values()).most_common(1)[0][0]
        one.unit = next(unit for _, unit in one.own.values() if unit.name == common)
    one.unit = one.unit or ahead
    return into_unit(one, one.unit)


def into_unit(one: Raw, unit: Symbol | None) -> Counter[str]:
    """Turn the numbers of a series that have a unit of their own into another unit; None: not known yet.

    What is of another kind is no value; returned are its marks.
    """
    gone: Counter[str] = Counter()
    for at, (value, own) in one.own.items():
        one.v[at] = None if unit is None else _turned(value, own, unit)
        if unit is not None and one.v[at] is None:
            gone[f"in {own.name}"] += 1
    return gone


def _turned(value: float, own: Symbol, unit: Symbol) -> float | None:
    if own == unit:
        return value
    if own.kind == "length" and unit.kind == "pressure":
        own = symbol(f"{own.name}h2o") or own
    if own.kind != unit.kind:
        return None
    return (value * own.factor + own.offset - unit.offset) / unit.factor


def own_facts(series: Sequence[Raw]) -> list[Fact]:
    """Return what is told of columns in which only some of the numbers have a unit."""
    out = []
    for one in series:
        filled = sum(value is not None for value in one.v)
        bare = filled - sum(one.v[at] is not None for at in one.own)
        if not one.own or bare <= 0:
            continue
        name, names = one.heading or "a column without heading", sorted({u.name for _, u in one.own.values()})
        rows = tuple(one.row[at] for at in list(one.own)[:5])
        many = counted(len(one.own), "number")
        if len(one.own) < MOST * filled or len(names) > 1:
            none = sum(one.v[at] is None for at in one.own)
            gone = f"; {none} of another kind are no value" if none else ""
            words = f"{many} of {name!r} in {' and '.join(names)} beside others; turned into its unit{gone}."
        else:
            words = f"{counted(bare, 'number')} of {name!r} without a unit, taken to be in {names[0]}."
        out.append(Fact("change of format", words, rows))
    return out
