"""Other readings of what was typed: which slip it may be, in one field or in a group of fields."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from steadyhead.records.quantities import STANDARD_ATMOSPHERE_PA
from steadyhead.station.refusal import Path
from steadyhead.station.slips.defaults import (
    LONELY_BONUS,
    MINORITY_BONUS,
    ODD_PRIOR,
    PRIOR,
    WORKED_OUT_MALUS,
)
from steadyhead.station.slips.slots import Sheet, Slot
from steadyhead.units import to_si

_STEPS = (
    "dead_band",
    "friction",
    "error",
    "repeatability",
    "drift",
    "gap",
    "hunting",
    "spring_shut",
    "spring_rise",
    "proportional_band",
    "pilot_friction",
    "stem_friction",
)


@dataclass(frozen=True, slots=True)
class Slip:
    """One kind of slip: what it needs to have been typed, and what was meant then.

    Parameters
    ----------
    code
        Finding code of its question.
    name
        Key of the priors.
    kind
        Kind of quantity.
    typed
        Unit symbol as typed.
    meant
        Unit the number belongs to.
    """

    code: str
    name: str
    kind: str
    typed: str
    meant: str
    absolute: bool = False

    def fits(self, slot: Slot) -> bool:
        """Whether a slot could carry this slip."""
        if slot.kind != self.kind or slot.unit != self.typed or slot.number == 0:
            return False
        return not (self.name.endswith(("gauge", "absolute")) and slot.path[-1] in _STEPS)

    def corrected(self, slot: Slot, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA) -> float:
        """Return the SI value under this reading."""
        si = to_si(slot.number, self.kind, self.meant)
        return si - atmosphere_pa if self.absolute else si


ABSOLUTE = "SLIP-04"
"""Code of questions about gauge and absolute."""

ODD = Slip("SLIP-06", "odd one out", "", "", "")
"""A value that fits nothing beside it, whatever was meant."""

SLIPS: tuple[Slip, ...] = (
    Slip("SLIP-01", "psi as bar", "pressure", "bar", "psi"),
    Slip("SLIP-01", "bar as psi", "pressure", "psi", "bar"),
    Slip("SLIP-02", "kPa as bar", "pressure", "bar", "kPa"),
    Slip("SLIP-03", "flow unit", "flow", "L/s", "m³/h"),
    Slip("SLIP-03", "flow unit", "flow", "m³/h", "L/s"),
    Slip("SLIP-04", "absolute as gauge", "pressure", "bar", "bar a", absolute=True),
    Slip("SLIP-04", "absolute as gauge", "pressure", "psi", "psi a", absolute=True),
    Slip("SLIP-04", "absolute as gauge", "pressure", "kPa", "kPa a", absolute=True),
    Slip("SLIP-04", "gauge as absolute", "pressure", "bar a", "bar"),
    Slip("SLIP-04", "gauge as absolute", "pressure", "psi a", "psi"),
    Slip("SLIP-04", "gauge as absolute", "pressure", "kPa a", "kPa"),
    Slip("SLIP-05", "feet as metres", "length", "m", "ft"),
    Slip("SLIP-05", "metres as feet", "length", "ft", "m"),
)


@dataclass(frozen=True, slots=True)
class Reading:
    """One other reading of a file: these slots, this slip, these SI values instead."""

    slip: Slip
    subject: Path
    slots: tuple[int, ...]
    values: tuple[float, ...]
    prior: float


def readings(sheet: Sheet, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA) -> Iterator[Reading]:
    """Yield every other reading worth comparing: each field alone, and the groups people fill in together."""
    for slip in SLIPS:
        fitting = [
            index for index, slot in enumerate(sheet.slots) if slip.fits(slot) and _is_wide(slip, slot.path)
        ]
        if not fitting:
            continue
        one, several = (prior + _bonus(slip, sheet) for prior in PRIOR[slip.name])
        seen: set[tuple[int, ...]] = set()
        for subject, members in _groups(slip, sheet, fitting):
            if members and members not in seen:
                seen.add(members)
                values = tuple(slip.corrected(sheet.slots[index], atmosphere_pa) for index in members)
                if slip.kind != "pressure" or min(values) >= 0:
                    prior = several if len(members) > 1 else one
                    if slip.name == "absolute as gauge" and subject[-1:] == ("static",):
                        prior -= WORKED_OUT_MALUS
                    yield Reading(slip, subject, members, values, prior)


def any_value(slot: int, sheet: Sheet, values: list[float]) -> Iterator[Reading]:
    """Yield readings of one field as its neighbours suggest: a digit or the sign off, or like one of them."""
    own, typed = sheet.slots[slot], values[slot]
    like = [
        values[index]
        for index, other in enumerate(sheet.slots)
        if other.kind == own.kind and index != slot and (own.kind != "length" or _is_level(other.path))
    ]
    lonely_sign = typed < 0 < min(like, default=-1.0)
    for value in sorted({-typed, 0.1 * typed, 10.0 * typed, *like}):
        if value != typed and (own.kind == "length" or value > 0):
            prior = ODD_PRIOR + (LONELY_BONUS if lonely_sign and value == -typed else 0.0)
            yield Reading(ODD, own.path, (slot,), (value,), prior)


def _is_wide(slip: Slip, path: Path) -> bool:
    """Whether a length is a level; lengths and bores of pipes are not asked about."""
    return slip.kind != "length" or _is_level(path)


def _is_level(path: Path) -> bool:
    return path[-1] in ("datum", "altitude", "level", "lowest", "highest")


def _bonus(slip: Slip, sheet: Sheet) -> float:
    """Return what it adds that the rest of the file is written in the unit that may have been meant."""
    slots = [slot for slot in sheet.slots if slot.kind == slip.kind]
    if slip.name.endswith(("gauge", "absolute")):
        return (
            LONELY_BONUS if slip.name == "gauge as absolute" and sum(s.absolute for s in slots) == 1 else 0.0
        )
    units = [slot.unit for slot in slots]
    return MINORITY_BONUS if units.count(slip.meant) > 2 * units.count(slip.typed) else 0.0


def _groups(slip: Slip, sheet: Sheet, fitting: list[int]) -> Iterator[tuple[Path, tuple[int, ...]]]:
    def group(subject: Path, test: Callable[[Path], bool]) -> tuple[Path, tuple[int, ...]]:
        return subject, tuple(index for index in fitting if test(sheet.slots[index].path))

    for index in fitting:
        yield sheet.slots[index].path, (index,)
    if slip.name.endswith(("gauge", "absolute")):
        # One logger gives these together; the static pressure is mostly worked out from levels.
        yield group(("supply",), lambda path: path[0] == "supply" and path[-1] != "static")
        return
    paths = [sheet.slots[index].path for index in fitting]
    yield group(("supply",), lambda path: path[0] == "supply")
    yield group(("demand",), lambda path: path[0] == "demand")
    yield group(("zone",), lambda path: path[0] == "zone")
    yield group(("limits",), lambda path: path[0] == "limits")
    yield group(("gauges",), lambda path: path[0] == "gauges")
    yield group(("line",), lambda path: path[0] == "line" and "closing" not in path)
    for head in sorted({path[:2] for path in paths if path[0] in ("limits", "line", "needs")}, key=str):
        yield group(head, lambda path, head=head: path[:2] == head)  # type: ignore[misc]
        yield group((*head, "pilot"), lambda path, head=head: path[:3] == (*head, "pilot"))  # type: ignore[misc]
    yield group((), lambda path: path[0] not in ("station",))
    yield group((), lambda path: True)
