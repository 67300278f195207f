"""Which steps a kind of plan keeps of the whole graph, and which way it goes."""

from __future__ import annotations

from collections.abc import Iterable

from steadyhead.procedure.graph import ways
from steadyhead.records.procedure import Procedure
from steadyhead.visits.facts import Facts
from steadyhead.visits.items import Item
from steadyhead.visits.tables.desk import SET

SITE = ("A1", "A2", "A3", "A4", "A5", "A6", "A7", "A8", "J4", "J5", "K1", "K2")
LINE = ("A9", "B1", "C5", "J2", "J3")
WET = ("B2", "B6", "C1", "C1F", "C2", "C3", "C4", "J1")
LIVE_RUN = ("F1", "F2", "F2R", "DS6")
PUMP_RUN = ("IN1", "IN3", "IN4")
SETTING_TOGETHER = ("S1", "S2", "S3", "H3", "S4", "S5", "S6", "S7")
"""Steps of several streams that a new setting asks for."""
RETURN_TOGETHER = ("S1", "S2", "S3", "H3", "S4")
"""Steps of several streams on the way back to service."""
RAISES = ("F1", "F3", "F3R", "F3C", "F4", "TS1", "G4", "ES3", "DS3", "MN1", "R1", "R4")
TO_THE_TRIP = ("F1", "F3", "F3R", "F3C", "F4", "ES3", "DS3", "ES4", "DS4")
"""Steps that raise the outlet to the trip: relief valves and a monitor are out of the way for them."""


def way_of(whole: Procedure, *, to_be_set: Iterable[str] = ()) -> dict[str, str]:
    """Return the way on which the named valves are set and all others are left as they stand."""
    wanted = {f"E0.{valve}" for valve in to_be_set}
    return next(
        way
        for way in ways(whole)
        if all((option == SET) == (choice in wanted) for choice, option in way.items())
    )


def return_to_service(whole: Procedure) -> tuple[str, ...]:
    """Return the steps of a station that was isolated and not touched.

    Its vessels are read all the same; with their cocks moved, the expansion is looked at again.
    """
    more = ("J3T",) if any(node.id.split(".")[0] == "B7" for node in whole.nodes) else ()
    return (
        *more,
        *SITE, "A9", "B7", "C1", "C1F", "C2", "C3", "C4", "C5", "D2", "EF1", "H8", "J1", "J2", "J3", "J6",
    )  # fmt: skip


def new_setting() -> tuple[str, ...]:
    """Return the steps of a new setting: ladder, that pilot, trip, alarm, duty, lock-up."""
    return (
        *SITE, *LINE, "C1S", "D2", "EF1", "EF2", "EF3", "ES1", "ES2", "ES3", "ES4", "ES5", "ES6",
        "DS0", "DS1", "DS2", "DS3", "DS4", "DS4x", "DS5", "DS6", "DS7",
        "R1", "R2", "R3", "R4", "MN0", "MN1",
        "IN1", "IN2", "IN3", "IN4", "IN5", "F1", "F2", "F2R", "F3", "F3R", "F3C", "F4", "F5", "TS1",
        "G4", "H1", "H1F", "H2",
    )  # fmt: skip


def after_repair(facts: Facts, item: Item, again: Iterable[str]) -> tuple[str, ...]:
    """Return what a repair asks for beside the steps to be done again: access, protection, and putting right.

    Parameters
    ----------
    facts
        The station.
    item
        What was touched.
    again
        Steps whose proofs it made stale.

    Returns
    -------
    tuple
        Bases of steps (positions in the tables), without the steps to be done again.
    """
    if item.is_paper:
        return ("K1",)
    bases = {step.split(".")[0] for step in again}
    keep = [*SITE]
    run = LIVE_RUN if facts.is_live else PUMP_RUN
    if "G1" in bases or bases & {"F1", "IN3"}:
        keep += run
    if item.lost and facts.shut_off is not None and item.lost == facts.shut_off.id:
        keep += ["C1S", "ES3", "ES4", "ES5", "ES6", "DS0", "DS1", "DS3", "DS4", "DS4x", "DS5", "IN2"]
    elif item.lost:
        keep += ["C1S", "DS1", "DS2", "ES1", "ES2"]
    if (set(keep) | bases) & set(TO_THE_TRIP):
        keep += ["R3", "R4", "MN0", "MN1"]
    if facts.alarm_over_monitor and (set(keep) | bases) & {"G4"}:
        keep += ["MN0", "MN1"]
    if (set(keep) | bases) & {"R1", "R2"}:
        keep += ["R1", "MN0", "MN1"]
    if bases & {"D2", "D3", "H1", "H2", "H4", "H5"} or set(keep) & {*RAISES, "IN1"} or bases & set(RAISES):
        keep += [*LINE, "EF1"]
    if "H2" in bases or "D3" in bases or (set(keep) | bases) & set(RAISES):
        keep.append("D2")
    if (set(keep) | bases) & set(RAISES):
        keep += ["EF3", "EF2"]
    if item.is_wet:
        keep += [*LINE, *WET]
    return tuple(dict.fromkeys(keep))


def together(again: Iterable[str], *, station_out: bool) -> tuple[str, ...]:
    """Return the access that steps of the streams together ask for, beside that of each stream.

    Parameters
    ----------
    again
        Steps to be done again.
    station_out
        The consumers are cut off for them.
    """
    bases = {step.split(".")[0] for step in again}
    if not bases & {"S2", "S4", "S5", "S6", "S8", "S9"}:
        return ()
    return (*SITE, *(LINE if station_out else ("J3",)))


def with_valves(whole: Procedure, bases: Iterable[str]) -> tuple[str, ...]:
    """Return the ids of all steps at these positions of the tables."""
    wanted = set(bases)
    return tuple(node.id for node in whole.nodes if node.id.split(".")[0] in wanted)
