"""A row ahead of the samples that states a factor for each column: it goes into the headings, to be asked."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.watch.reading.headings import plain
from steadyhead.watch.reading.numbers import Cell, number
from steadyhead.watch.reading.sources import Grid
from steadyhead.watch.reading.symbols import symbol

LOOKED = 40
"""Rows at the top of a table among which one may state factors."""
_NAMES = (
    "factor", "faktor", "facteur", "fattore", "fator", "multiplier", "multiplikator", "multiplicateur",
    "multiplicador", "scale", "scaling", "scale factor", "scaling factor", "skalierung", "skalenfaktor",
    "skalierungsfaktor", "echelle", "escala", "scala", "schaal", "kerroin", "wspolczynnik", "mnoznik",
)  # fmt: skip


def with_factors(grid: Grid) -> Grid:
    """Return a table whose row of factors is empty, with each factor in the heading of its column.

    A heading with a factor beside its unit is asked about: whether numbers are to be multiplied still, the
    file does not say. Factors of 1 are left where they are.
    """
    for place, (line, cells) in enumerate(grid.rows[:LOOKED]):
        if not cells or plain(str(cells[0])) not in _NAMES:
            continue
        found = {at: value for at, cell in enumerate(cells) if at and (value := _number(cell)) is not None}
        if len(found) < sum(cell != "" for cell in cells[1:]) or all(one == 1 for one in found.values()):
            continue
        named = next((at for at in _near(place) if at < len(grid.rows) and _names(grid, at, found)), None)
        if named is None:
            continue
        rows = list(grid.rows)
        number_, heads = rows[named]
        rows[named] = (number_, [_with(cell, found.get(at, 1.0)) for at, cell in enumerate(heads)])
        rows[place] = (line, [cells[0], *[""] * (len(cells) - 1)])
        if named < place:  # nothing may stand between the headings and the units below them
            moved = [rows[place][1], *(one for _, one in rows[named:place])]
            rows[named : place + 1] = [
                (at, one) for (at, _), one in zip(rows[named : place + 1], moved, strict=True)
            ]
        return replace(grid, rows=rows)
    return grid


def _number(cell: Cell) -> float | None:
    found = number(cell, ".")
    return number(cell, ",") if found is None else found


def _near(place: int) -> list[int]:
    """Return rows above a row, the nearest first, and then the two below it."""
    return [*range(place - 1, -1, -1), place + 1, place + 2]


def _names(grid: Grid, at: int, found: dict[int, float]) -> bool:
    """Return whether a row names the columns that have a factor: words, and not units alone."""
    cells = grid.rows[at][1]
    over = [str(cells[one]) for one in found if one < len(cells)]
    return len(over) == len(found) and all(plain(one) and _number(one) is None for one in over) and not all(
        symbol(one.strip("[]()")) is not None for one in over
    )  # fmt: skip


def _with(cell: Cell, factor: float) -> Cell:
    return (
        cell
        if factor == 1 or cell == ""
        else f"{cell} x{factor:g}"
        + (".0" if factor == int(factor) and f"{factor:g}".strip("0") != "1" else "")
    )
