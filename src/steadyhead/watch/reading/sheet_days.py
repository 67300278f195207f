"""Sheets of which each holds a day: its name is the date, and its rows tell the time of day alone."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.watch.reading.sources import Grid
from steadyhead.watch.reading.times import as_stamp


def dated(grid: Grid) -> Grid:
    """Return a sheet with the date that it is named by ahead of its rows, where they state none."""
    if grid.container != "spreadsheet" or not grid.sheet:
        return grid
    day = as_stamp(grid.sheet)
    if day is None or day.parts is None or day.clock is not None:
        return grid
    found = [one for _, cells in grid.rows for cell in cells if (one := as_stamp(cell)) is not None]
    if not found or any(one.parts is not None for one in found):
        return grid
    return replace(grid, rows=[(0, [f"Date: {grid.sheet}"]), *grid.rows])
