"""The tolerance of a printed number: no tighter than its last digit."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest


def printed(text: str) -> Any:
    """Return something equal to every number that rounds to *text*: half a unit in its last place.

    >>> 1.804 == printed("1.80")
    True
    >>> 1.81 == printed("1.80")
    False
    """
    value = Decimal(text)
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int):
        raise ValueError(f"{text!r} is no printed number.")
    return pytest.approx(float(value), rel=0, abs=float(Decimal(5).scaleb(exponent - 1)))
