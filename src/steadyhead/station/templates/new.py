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
    "duty-standby": "duty and standby stream, each with a shut-off of its own",
    "low-flow": "main and low-flow stream behind one shut-off",
    "monitor": "a monitor and a reducer in series, both sensing the outlet",
    "building": "plant room: a reducer, relief valve and vessel, heated water",
    "irrigation": "two reducers in series, shut-off upstream, relief valve",
    "fire-main": "a reducer in a fire main, no shut-off unless the authority allows it",
    "manual-bypass": "shut-off upstream of the reducer, a locked manual bypass around both",
}
"""Names a template is asked for by, each with what it is."""
COMPANIONS: dict[str, str] = {
    "reducer-alone": "pinnock-yard",
    "shut-off-upstream": "quillenby-row",
    "shut-off-downstream": "dunmarrow-bottom",
    "two-reducers": "sorrel-flat",
    "duty-standby": "veldany-house",
    "low-flow": "quernhollow-lane",
    "monitor": "fenwarren-gate",
    "building": "veldany-house",
    "irrigation": "mesquill-flat",
    "fire-main": "tarnholt-quay",
    "manual-bypass": "tarnholt-quay",
}
"""Example each template points to: of the same layout, or the nearest to it."""
DATA_SHEET = "data-sheet"
"""Name a data sheet of a valve is asked for by."""
_KINDS = {"building": "building plant room", "irrigation": "irrigation", "fire-main": "fire main"}
_USUAL_KIND = "utility chamber"
_HAZARDS = {"building": "electric"}
_USUAL_HAZARD = "confined space"


def new(layout: str) -> str:
    """Return a commented station file to fill in; what is open stands as ``"?"``.

    Parameters
    ----------
    layout
        A key of `LAYOUTS`, or `DATA_SHEET` for a data sheet of a valve.

    Raises
    ------
    InputError
        No such layout.

    Examples
    --------
    >>> new("reducer-alone").splitlines()[0]
    '# Station file: a reducer without a shut-off.'
    """
    if layout == DATA_SHEET:
        return _piece(DATA_SHEET)
    if layout not in LAYOUTS:
        known = (*LAYOUTS, DATA_SHEET)
        close = get_close_matches(layout, known, n=1)
        hint = f"Did you mean {close[0]!r}? " if close else ""
        raise InputError("layout", f"got {layout!r}.", f"{hint}Use one of: {', '.join(known)}.")
    line = _piece(layout)
    credited = _piece("credited") if "part: shut_off" in line else ""
    head = _piece("head").format(
        title=LAYOUTS[layout],
        companion=COMPANIONS[layout],
        kind=f"{_KINDS.get(layout, _USUAL_KIND):<23}",
        hazards=f"{'[' + _HAZARDS.get(layout, _USUAL_HAZARD) + ']':<20}",
    )
    return head + line + credited + _piece("tail")


def _piece(name: str) -> str:
    return (files(__package__) / f"{name}.yaml").read_text(encoding="utf-8")
