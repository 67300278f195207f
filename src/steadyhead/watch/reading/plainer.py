"""Times in shapes of their own, each written as the rest of the reading knows it."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.watch.reading.bare_digits import packed
from steadyhead.watch.reading.day_parts import with_parts
from steadyhead.watch.reading.dotted import with_colons
from steadyhead.watch.reading.epochs import with_epochs
from steadyhead.watch.reading.fine_epochs import fine_epochs
from steadyhead.watch.reading.from_to import starts
from steadyhead.watch.reading.parts_apart import together
from steadyhead.watch.reading.sources import Grid
from steadyhead.watch.reading.spelt import spelt_out

STEPS = (spelt_out, fine_epochs, together, starts, packed, with_epochs, with_parts, with_colons)


def plainer(grid: Grid) -> Grid:
    """Return a table with its times as stamps where they are digits, parts of days or counted from a year.

    What any step changes is marked as rewritten: a long file cannot be read by what its samples then show.
    """
    for each in STEPS:
        made = each(grid)
        if made is not grid:
            grid = replace(made, rewritten=True)
    return grid
