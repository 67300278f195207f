"""Numbers and names in the words of an episode."""

from __future__ import annotations

from steadyhead.watch.counting import signed
from steadyhead.watch.defects.series import Series


def bar(pascal: float) -> str:
    """Return a pressure in words."""
    return f"{signed(f'{pascal / 1e5:.2f}')} bar"


def lasting(seconds: float) -> str:
    """Return a length of time in words."""
    size = abs(seconds)
    if size < 120.0:
        return f"{size:.0f} s"
    if size < 7200.0:
        return f"{size / 60.0:.0f} min"
    return f"{size / 3600.0:.1f} h" if size < 172_800.0 else f"{size / 86_400.0:.1f} days"


def value(one: Series, si: float) -> str:
    """Return a value of a channel in words."""
    if one.quantity == "flow":
        return f"{signed(f'{1e3 * si:.2f}')} L/s"
    if one.quantity == "travel":
        return f"{signed(f'{si * 100.0:.1f}')} %"
    return bar(si)


def unit(one: Series) -> str:
    """Return the SI unit of a channel's values."""
    return {"flow": "m3/s", "travel": ""}.get(one.quantity, "Pa")
