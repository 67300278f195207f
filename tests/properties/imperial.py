"""The same station file in the other system of units: every quantity rewritten, nothing else touched.

Factors follow from the definitions of the inch, the pound and the US gallon; none is taken from the product.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

PSI = 0.45359237 * 9.80665 / 0.0254**2  # Pa
GALLON = 231.0 * 0.0254**3  # m³
FOOT = 0.3048  # m
CV = 60.0 * GALLON * (1e5 / PSI) ** 0.5  # Kv of 1 Cv

REWRITTEN: dict[str, tuple[Callable[[float], float], str]] = {
    "bar": (lambda value: value * 1e5 / PSI, "psi"),
    "L/s": (lambda value: value * 1e-3 / (GALLON / 60.0), "gpm"),
    "m": (lambda value: value / FOOT, "ft"),
    "mm": (lambda value: value / 25.4, "in"),
    "m³": (lambda value: value / GALLON, "gal"),
    "°C": (lambda value: value * 1.8 + 32.0, "°F"),
}
_NUMBER = r"[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?"
_QUANTITY = re.compile(rf"^({_NUMBER}) ({'|'.join(map(re.escape, REWRITTEN))})$")
_CAPACITY = re.compile(rf"^Kv ({_NUMBER})$")


def in_us_units(data: Any) -> Any:
    """Return a station file's data with every metric quantity written in US units."""
    if isinstance(data, dict):
        return {key: in_us_units(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [in_us_units(value) for value in data]
    return _text(data) if isinstance(data, str) else data


def _text(text: str) -> str:
    quantity = _QUANTITY.match(text)
    if quantity:
        rewrite, unit = REWRITTEN[quantity.group(2)]
        return f"{rewrite(float(quantity.group(1)))!r} {unit}"
    capacity = _CAPACITY.match(text)
    return f"Cv {float(capacity.group(1)) / CV!r}" if capacity else text
