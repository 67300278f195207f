"""Mains of the station file: one equivalent length of pipe, or the reaches it is made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal, TypeVar

from pydantic import Field, model_validator

from steadyhead.records.checking import bad
from steadyhead.records.parts import PartId, Record, YesNo
from steadyhead.records.quantities import (
    Bore,
    Duration,
    FlowCoefficient,
    Length,
    Level,
    PositivePressure,
    Roughness,
    Share,
    Thickness,
    Volume,
    WaveSpeed,
)
from steadyhead.records.values import Evidence, Origin, Value

Material = Literal[
    "ductile iron",
    "grey iron",
    "steel",
    "copper",
    "PVC-U",
    "PE100",
    "PE80",
    "GRP",
    "asbestos cement",
    "other",
]
WHOLE = 1.005
"""Sum of shares that is still 100 %, for figures rounded as typed."""


class Main(Record):
    """A length of main, as one equivalent reach."""

    length: Length = Field(description="Length of the main, as one equivalent reach.")
    bore: Bore = Field(description="Inside diameter.")
    material: Material = Field("other", description="Wall material.")
    wall: Thickness | None = Field(None, description="Wall thickness.")
    roughness: Roughness | None = Field(None, description="Roughness of the wall for friction.")
    wave_speed: WaveSpeed | None = Field(None, description="Pressure-wave speed in this pipe, if known.")


class ReachVessel(Record):
    """A vessel with a gas cushion on a tee of a main."""

    volume: Volume = Field(description="Volume of the whole vessel.")
    precharge: PositivePressure = Field(description="Gas pressure with the water side empty, at its level.")


class ReachRelief(Record):
    """A relief valve on a tee of a main; pressures at its own level."""

    kv: FlowCoefficient = Field(description="Flow coefficient wide open, outlet pipe included.")
    crack: PositivePressure = Field(description="Rising pressure at which it starts to lift.")
    full: PositivePressure | None = Field(None, description="Pressure at which it stands wide open.")
    reseat: PositivePressure | None = Field(None, description="Falling pressure at which it is shut again.")
    strokes_in: Duration | None = Field(
        None, description="Time of its full stroke; it follows the pressure at once where left out."
    )
    credited: YesNo = Field(False, description="Does the protection proof count on it?")

    @model_validator(mode="after")
    def _in_order(self) -> ReachRelief:
        if self.full is not None and self.full.si <= self.crack.si:
            raise bad(f"full {self.full.text!r} is not above crack {self.crack.text!r}.", "Correct them.")
        if self.reseat is not None and self.reseat.si > self.crack.si:
            raise bad(f"reseat {self.reseat.text!r} is above crack {self.crack.text!r}.", "Correct them.")
        return self


class SupplyReach(Main):
    """One reach of the supply main."""

    id: PartId = Field(description="Name of the reach, used once.")
    level: Level | None = Field(
        None, description="Level where it ends; the last one ends at the station, at its datum."
    )
    vessel: ReachVessel | None = Field(None, description="Vessel where it ends; not of the last one.")
    relief: ReachRelief | None = Field(None, description="Relief valve where it ends; not of the last one.")


class ZoneReach(Main):
    """One reach of the mains behind the station."""

    id: PartId = Field(description="Name of the reach, used once.")
    after: PartId | None = Field(
        None, description="Reach at whose end it begins; the one before it where left out."
    )
    level: Level | None = Field(
        None, description="Level of the consumers at its end; that of the zone where left out."
    )
    share: Share | None = Field(
        None,
        description="Share of what consumers draw that is drawn at its end; ends without one share the rest.",
    )
    vessel: ReachVessel | None = Field(None, description="Vessel where it ends.")
    relief: ReachRelief | None = Field(None, description="Relief valve where it ends.")


AnyReach = TypeVar("AnyReach", SupplyReach, ZoneReach)


def not_both(raw: Any) -> Any:
    """Refuse a main beside the reaches it is made of."""
    if isinstance(raw, dict) and raw.get("main") is not None and raw.get("reaches"):
        raise bad("got both main and reaches.", "Keep one: reaches are the main, written out.")
    return raw


def as_stated(written: dict[str, Any], *, has_reaches: bool) -> dict[str, Any]:
    """Return a side as it is written out: the main that reaches make is not stated beside them."""
    return {name: value for name, value in written.items() if not (has_reaches and name == "main")}


def named_once(reaches: Sequence[SupplyReach | ZoneReach]) -> None:
    """Refuse a reach without length, or whose name is taken."""
    seen: set[str] = set()
    for reach in reaches:
        if reach.id in seen:
            raise bad(f"got two reaches called {reach.id!r}.", "Give each its own id.")
        if not reach.length.si > 0.0:
            raise bad(f"got the reach {reach.id!r} without length.", "Write its length, or leave it out.")
        seen.add(reach.id)


def begins_after(reaches: Sequence[ZoneReach]) -> dict[str, str]:
    """Return the reach at whose end each one begins; empty text: at the station.

    The first begins at the station; one that names no other begins where the one before it ends.
    """
    found: dict[str, str] = {}
    before = ""
    for reach in reaches:
        if not found and reach.after:
            raise bad(
                f"the first reach {reach.id!r} begins after {reach.after!r}.",
                "Begin with the one at the station.",
            )
        if reach.after and reach.after not in found:
            known = ", ".join(found)
            raise bad(
                f"{reach.id!r} begins after {reach.after!r}, which does not stand before it.",
                f"Name one of: {known}. Rings are not covered.",
            )
        found[reach.id] = reach.after or before
        before = reach.id
    return found


def shares_of(reaches: Sequence[ZoneReach]) -> dict[str, float]:
    """Return the share of the consumers' flow drawn at the end of each reach; they add up to 1.

    What is not stated is shared evenly by the ends of the tree that state none.
    """
    begins = begins_after(reaches)
    ends = [reach for reach in reaches if reach.id not in begins.values()]
    stated = {reach.id: reach.share.si for reach in reaches if reach.share is not None}
    total = sum(stated.values())
    left = [reach.id for reach in ends if reach.id not in stated]
    if total > WHOLE or (not left and total < 2.0 - WHOLE):
        raise bad(
            f"got shares of {100.0 * total:.4g} % in all.",
            "They add up to 100 %, or leave the rest to the ends.",
        )
    rest = max(1.0 - total, 0.0)
    found = {reach.id: 0.0 for reach in reaches} | stated
    found |= {name: rest / len(left) for name in left}
    whole = sum(found.values())
    return {name: share / whole for name, share in found.items()}


def flows_of(reaches: Sequence[ZoneReach]) -> dict[str, float]:
    """Return the share of the consumers' flow that runs through each reach."""
    begins, flows = begins_after(reaches), dict(shares_of(reaches))
    for reach in reversed(reaches):
        if begins[reach.id]:
            flows[begins[reach.id]] += flows[reach.id]
    return flows


def farthest(reaches: Sequence[ZoneReach]) -> tuple[ZoneReach, ...]:
    """Return the reaches on the longest way from the station, in its order."""
    begins, by_id = begins_after(reaches), {reach.id: reach for reach in reaches}

    def way(name: str) -> list[ZoneReach]:
        return [*way(begins[name]), by_id[name]] if name else []

    return tuple(max((way(name) for name in by_id), key=lambda one: sum(reach.length.si for reach in one)))


def equivalent(reaches: Sequence[AnyReach], flows: Sequence[float]) -> Main:
    """Return one main with the length and the friction of reaches in line.

    Wall, roughness and wave speed are those of the longest reach, the wall in proportion to the bore.

    Parameters
    ----------
    reaches
        In line.
    flows
        Share of the flow through each. [1]

    Notes
    -----
    L/D⁵ = Σ Lᵢ qᵢ²/Dᵢ⁵ at one friction factor.
    """
    length = sum(reach.length.si for reach in reaches)
    loss = sum(r.length.si * q * q / r.bore.si**5 for r, q in zip(reaches, flows, strict=True))
    longest = max(reaches, key=lambda reach: reach.length.si)
    bore = (length / loss) ** 0.2 if loss > 0.0 else longest.bore.si
    wall = longest.wall
    if wall is not None:
        thick = wall.si * bore / longest.bore.si
        wall = replace(wall, si=thick, text=f"{1e3 * thick:.4g} mm", origin=Origin.DERIVED)
    return Main(
        length=_derived(length, f"{length:.5g} m"),
        bore=_derived(bore, f"{1e3 * bore:.4g} mm"),
        material=longest.material,
        wall=wall,
        roughness=longest.roughness,
        wave_speed=longest.wave_speed,
    )


def _derived(si: float, text: str) -> Value:
    source = "from the reaches: their length and friction in one"
    return Value(si, "length", text, Origin.DERIVED, Evidence.ESTIMATE, source)
