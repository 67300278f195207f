"""A duty flow that a paper gives without a unit: in which unit it was run."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.units import parse

WITHIN = 0.01
"""How near a reading's flow lies to a flow that is the same one; papers print two to three digits. [1]"""


def unit_of_flow(flow: float | None, read: Sequence[tuple[float, str]], common: str = "L/s") -> str:
    """Return the unit of a flow that a paper gives without one.

    It is the unit the people read flows in, unless none of their readings is that flow in it and one is that
    flow in the common unit.

    Parameters
    ----------
    flow
        The bare number; none where the paper gives no flow.
    read
        Flows that were read, each with its unit, in order of the record.
    common
        Unit taken where nothing was read.

    Raises
    ------
    UnitError
        A unit of a reading that nobody knows.

    Examples
    --------
    >>> unit_of_flow(80, [(5, "gpm"), (80, "gpm")])
    'gpm'
    >>> unit_of_flow(5, [(5.5, "gpm"), (79.3, "gpm")])
    'L/s'
    """
    if not read:
        return common
    own = read[0][1]
    if not flow or _ran(flow, own, read) or not _ran(flow, common, read):
        return own
    return common


def _ran(flow: float, unit: str, read: Sequence[tuple[float, str]]) -> bool:
    asked = _si(flow, unit)
    return any(abs(_si(one, symbol) - asked) <= WITHIN * asked for one, symbol in read)


def _si(flow: float, unit: str) -> float:
    return parse(f"{flow} {unit}", "flow").si
