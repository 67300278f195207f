"""Write ``src/steadyhead/water/fitted.py``: Chebyshev coefficients fitted to the CoolProp library.

Run ``python -m devtools.fit_water`` after a new release of the library; a test compares table and library.
"""

from __future__ import annotations

from collections.abc import Callable
from math import log
from pathlib import Path
from typing import Any

import numpy as np
from numpy.polynomial import chebyshev

from steadyhead.water.library import properties_by_library
from steadyhead.water.model import WaterProperties

LOWEST_TEMPERATURE = 273.15
HIGHEST_TEMPERATURE = 353.15
HIGHEST_PRESSURE = 20e6
TEMPERATURE_DEGREE = 10
PRESSURE_DEGREE = 3
TARGET = Path(__file__).resolve().parents[1] / "src" / "steadyhead" / "water" / "fitted.py"

Grid = Any  # numpy arrays; only here


def main() -> None:
    """Fit and write the table."""
    text = module_text()
    TARGET.write_text(text, encoding="utf-8")


def module_text() -> str:
    """Return the text of the fitted module."""
    warm = _nodes(TEMPERATURE_DEGREE)
    pressed = _nodes(PRESSURE_DEGREE)
    temperatures = (
        LOWEST_TEMPERATURE + HIGHEST_TEMPERATURE + warm * (HIGHEST_TEMPERATURE - LOWEST_TEMPERATURE)
    ) / 2
    pressures = (1.0 + pressed) * HIGHEST_PRESSURE / 2
    states = [[properties_by_library(float(t), float(p)) for p in pressures] for t in temperatures]
    pick: dict[str, Callable[[WaterProperties], float]] = {
        "DENSITY": lambda water: water.density,
        "FLUIDITY": lambda water: 1.0 / water.kinematic_viscosity,
        "SPEED_OF_SOUND": lambda water: water.speed_of_sound,
        "THERMAL_EXPANSION": lambda water: water.thermal_expansion,
    }
    vapour = [log(row[0].vapour_pressure_abs) * float(t) for row, t in zip(states, temperatures, strict=True)]
    lines = [
        '"""Chebyshev coefficients of water, fitted to the CoolProp library by ``devtools/fit_water.py``.',
        "",
        "Rows: degree in pressure, from 0 up; columns: degree in temperature. Do not edit by hand.",
        '"""',
        "",
        "from __future__ import annotations",
        "",
        f"LOWEST_TEMPERATURE = {LOWEST_TEMPERATURE!r}",
        f"HIGHEST_TEMPERATURE = {HIGHEST_TEMPERATURE!r}",
        f"HIGHEST_PRESSURE = {HIGHEST_PRESSURE!r}",
        "",
        f"LOG_VAPOUR_PRESSURE_TIMES_T = {_row(chebyshev.chebfit(warm, vapour, TEMPERATURE_DEGREE), '')}",
    ]
    for name, choose in pick.items():
        surface = np.array([[choose(water) for water in row] for row in states])
        along = chebyshev.chebfit(warm, surface, TEMPERATURE_DEGREE)
        both = chebyshev.chebfit(pressed, along.T, PRESSURE_DEGREE)
        lines.append(f"{name} = (")
        lines.extend(f"    {_row(row, '    ')}," for row in both)
        lines.append(")")
    return "\n".join(lines) + "\n"


def _nodes(degree: int) -> Grid:
    return chebyshev.chebpts1(degree + 1)


def _row(numbers: Grid, indent: str) -> str:
    inner = "\n".join(f"{indent}    {float(number):.12g}," for number in numbers)
    return f"(\n{inner}\n{indent})"


if __name__ == "__main__":
    main()
