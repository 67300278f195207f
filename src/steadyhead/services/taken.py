"""What was taken by default, grouped by what it moves, so that nothing is filled in silently."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.records.design import DesignSheet, UsedDefault
from steadyhead.records.values import Evidence
from steadyhead.units import METRIC, UnitSet, say_short

WINDOW = "moves the trip window"
PEAK = "moves closing time and peak after a trip"
SIZING = "moves travel, losses and cavitation"
PLAN = "moves the plan's turns and readings"
_MOVES = {
    **dict.fromkeys(("repeatability", "drift", "gap", "error of a transmitter", "lockup pressure"), WINDOW),
    **dict.fromkeys(
        (
            "closing needle kv", "opening kv", "closing time", "elasticity of the zone", "sense lag",
            "time from the trip to the first movement of a shut-off", "spring shut", "spring rise",
            "stroke", "diaphragm area",
        ),
        PEAK,
    ),
    **dict.fromkeys(
        ("kv", "kv clean", "curve shape", "pressure recovery", "incipient ratio", "seat tightness"), SIZING
    ),
}  # fmt: skip
"""What a value moves most, by its name; whatever is not named here moves the plan."""
_BY_PLACE = (("alarm", WINDOW), ("demand", PEAK), ("credited", PEAK))
ORDER = (WINDOW, PEAK, SIZING, PLAN)


@dataclass(frozen=True, slots=True)
class Taken:
    """Values of one part that nobody stated and that move the same thing."""

    moves: str
    where: str
    values: tuple[str, ...]


def taken_by_default(sheet: DesignSheet, units: UnitSet = METRIC) -> tuple[Taken, ...]:
    """Return what a sheet took by default, weightiest first.

    A value without words in brackets is an own estimate; for others the evidence stands there.

    Parameters
    ----------
    sheet
        A judged station.
    units
        Display units.
    """
    groups: dict[tuple[str, str], list[str]] = {}
    for one in sheet.defaults:
        groups.setdefault((_moves(one), _place(one)), []).append(_words(one, units))
    ranked = sorted(groups.items(), key=lambda item: ORDER.index(item[0][0]))
    return tuple(Taken(moves, where, tuple(values)) for (moves, where), values in ranked)


def _moves(one: UsedDefault) -> str:
    for beginning, moves in _BY_PLACE:
        if one.where.startswith(beginning):
            return moves
    return _MOVES.get(one.what, PLAN)


def _place(one: UsedDefault) -> str:
    """Return the part's id, or the block of the file where there is no part."""
    place = one.where.partition(":")[0]
    return place.rpartition(" ")[2] if "[" in place else place.partition(".")[0]


def _words(one: UsedDefault, units: UnitSet) -> str:
    amount = say_short(one.si, one.kind, units)
    name = one.what.replace("kv", "").strip() if one.kind == "flow_coefficient" else one.what
    words = f"{name} {amount}".strip()
    head, _, source = one.provenance.partition(": ")
    evidence = f"from {source}" if head == "derived" else head.removeprefix("default, ")
    return words if evidence == Evidence.ESTIMATE.value else f"{words} ({evidence})"
