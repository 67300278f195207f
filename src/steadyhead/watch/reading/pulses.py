"""Pulses of a meter whose size a heading or a line ahead tells: ``1 pulse = 10 L``, ``100 L/Imp``."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steadyhead.records.logger import Choice, Doubt, Quantity
from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.gather import Raw
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.scaled import times
from steadyhead.watch.reading.sizes import size_in
from steadyhead.watch.reading.symbols import Symbol, named, symbol

FALLS = 0.05
"""A count whose numbers fall more often than this, parts of its steps, begins anew with each interval."""


def of_pulses(one: Raw) -> tuple[Quantity, Symbol, str, Doubt | None] | None:
    """Return quantity, unit, why and the doubt left of counts whose size is told; None: they are none such.

    A count that goes on is a meter's index. One that begins anew with each interval is a flow, asked about.
    """
    size = size_in(one.heading) if has(plain(one.heading), words.PULSES) else None
    volume = named("volume", size[1]) if size is not None else None
    values = np.array([v for v in one.v if v is not None], dtype=float)
    if size is None or volume is None or not len(values):
        return None
    why = f"a pulse is {size[0]:g} {volume.name}"
    steps = np.diff(values)
    if len(steps) and float(np.mean(steps < 0)) <= FALLS and values[-1] > values[0]:
        return "meter index", times(volume, size[0]), why, None
    unit = _flow(volume, one.local, size[0])
    if unit is None:
        return None
    choices = (
        Choice(
            f"flow, {unit.name}",
            f"flow: pulses of {size[0]:g} {volume.name} in each interval of the stamps",
            why,
        ),
        Choice("other, ", "something else: kept, not used"),
        Choice(f"meter index, {times(volume, size[0]).name}", "a count that goes on"),
    )
    doubt = Doubt("quantity", f"What does {one.heading!r} measure?", choices, choices[0].value)
    return "flow", unit, why, doubt


def _flow(volume: Symbol, local: Sequence[int], size: float) -> Symbol | None:
    """Return the unit of a volume of pulses in each interval of the stamps."""
    apart = np.abs(np.diff(np.array(local, dtype=np.int64)))
    every = int(np.median(apart)) // 1_000_000 if len(apart) else 0
    if every <= 0 or volume.name not in ("L", "m³"):
        return None
    short = f"{every // 60} min" if every % 60 == 0 else f"{every} s"
    unit = symbol(f"{'l' if volume.name == 'L' else 'm3'}/{short}")
    return None if unit is None else times(unit, size)
