"""Put a commented station file together for one layout."""

from __future__ import annotations

from difflib import get_close_matches
from importlib.resources import files

from steadyhead.errors import InputError

LAYOUTS: dict[str, str] = {
    "reducer-alone": "a reducer without a shut-off",
    "shut-off-upstream": "one stream, shut-off upstream of the reducer",
    "shut-off-downstream": "one stream, shut-off downstream of the reducer, two drains",
    "two-reducers": "two reducers in series, no shut-off",
}
"""Names a template is asked for by, each with what it is."""


def new(layout: str) -> str:
    """Return a commented station file to fill in; what is open stands as ``"?"``.

    Parameters
    ----------
    layout
        A key of `LAYOUTS`.

    Raises
    ------
    InputError
        No such layout.

    Examples
    --------
    >>> new("reducer-alone").splitlines()[0]
    '# Station file: a reducer without a shut-off.'
    """
    if layout not in LAYOUTS:
        close = get_close_matches(layout, LAYOUTS, n=1)
        hint = f"Did you mean {close[0]!r}? " if close else ""
        raise InputError("layout", f"got {layout!r}.", f"{hint}Use one of: {', '.join(LAYOUTS)}.")
    credited = _piece("credited") if layout.startswith("shut-off") else ""
    return _piece("head").format(title=LAYOUTS[layout]) + _piece(layout) + credited + _piece("tail")


def _piece(name: str) -> str:
    return (files(__package__) / f"{name}.yaml").read_text(encoding="utf-8")
