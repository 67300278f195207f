"""A current that stands for a pressure or flow: ``4-20 mA = 0-16 bar``."""

from __future__ import annotations

import re

from steadyhead.units.table import find

_NUMBER = r"([+-]?\d+(?:[.,]\d+)?)"
_TO = r"\s*(?:-|–|\.\.\.?|…|to|bis|à|a|tot)\s*"
_RANGE = re.compile(
    rf"(?<![\d.,]){_NUMBER}{_TO}{_NUMBER}\s*mA\s*(?:=|:|->|→|≙|for|für|pour|entspricht)?\s*{_NUMBER}{_TO}{_NUMBER}"
    r"\s*([^\s\d,;()\[\]]+)",
    re.IGNORECASE,
)
KINDS = ("pressure", "flow")


class Range:
    """A span of current in mA and what it stands for: ``SI = mA · factor + offset``."""

    def __init__(self, name: str, kind: str, factor: float, offset: float) -> None:
        self.name, self.kind, self.factor, self.offset = name, kind, factor, offset


def of_range(text: str) -> Range | None:
    """Return the span of current that a text states with a unit of pressure or flow; None for none.

    Examples
    --------
    >>> found = of_range("Vordruck, 4-20 mA = 0-16 bar")
    >>> found.name, round(found.factor * 12 + found.offset)
    ('4-20 mA = 0-16 bar', 800000)
    >>> of_range("4-20 mA"), of_range("0-16 bar")
    (None, None)
    """
    found = _RANGE.search(text)
    if found is None:
        return None
    low, high, least, most = (float(one.replace(",", ".")) for one in found.groups()[:4])
    unit, kind = next(
        ((one, kind) for kind in KINDS if (one := find(kind, found.group(5))) is not None and one.symbol),
        (None, ""),
    )
    if unit is None or unit.absolute or unit.offset or high <= low or most == least:
        return None
    factor = (most - least) / (high - low)
    name = f"{low:g}-{high:g} mA = {least:g}-{most:g} {unit.symbol}"
    return Range(name, kind, factor * unit.factor, (least - low * factor) * unit.factor)
