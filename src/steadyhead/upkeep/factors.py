"""What shortens or lengthens an interval, each with its reason (handbook 5.2): as far as it is known."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import pi
from textwrap import shorten

from steadyhead.records.parts import LinePart, Reducer, ShutOff, Strainer
from steadyhead.records.station import Station
from steadyhead.records.values import Default
from steadyhead.station.layout import carries_fire_water
from steadyhead.upkeep import defaults

NOT_KNOWN = (
    "hours of cavitation, cycling and hunting (loggers measure them; no interval is shortened by them)",
    "chloramine in the water",
    "bursts and turbid water ahead of the station",
)
"""Drivers of the handbook that no interval is reckoned with; an owner's own one can allow for them."""
LONGEST_NAME = 120


@dataclass(frozen=True, slots=True)
class Factor:
    """One factor on an interval, and the reason for it."""

    value: float
    because: str
    source: str


def made(default: Default, because: str) -> Factor:
    """Return a factor with its default's figure and evidence."""
    return Factor(default.si, because, f"{default.evidence.value}: {default.source}")


def of_file(station: Station, activity: object, part: LinePart | None) -> tuple[Factor, ...]:
    """Return what the station file alone says about the interval of an activity.

    activity: an `Activity`; its drivers say which factors are looked at.
    """
    drivers: Sequence[str] = getattr(activity, "drivers", ())
    return tuple(factor for name in drivers if name in _OF_FILE for factor in _OF_FILE[name](station, part))


def is_critical(station: Station) -> str:
    """Return why a station counts as critical; empty where it does not."""
    named = " ".join(station.station.sensitive_consumers.split())
    if named:
        whole_words = shorten(named, LONGEST_NAME, placeholder=" …")
        short = f"{named[: LONGEST_NAME - 1]}…" if whole_words.strip() == "…" else whole_words
        return f"sensitive consumers are named: {short}"
    if "other_feed" in station.zone.model_fields_set and not station.zone.other_feed:
        return "the file says that no other feed can hold the zone"
    return ""


def _critical(station: Station, _: LinePart | None) -> Iterator[Factor]:
    why = is_critical(station)
    if not why and carries_fire_water(station):
        why = "fire water passes here"
    if why:
        yield made(defaults.CRITICAL, why)


def _warm(station: Station, _: LinePart | None) -> Iterator[Factor]:
    highest = station.water.highest or station.water.temperature
    if highest.si > defaults.WARM_FROM.si:
        yield made(defaults.WARM, f"water up to {highest.text}")


def _floods(station: Station, _: LinePart | None) -> Iterator[Factor]:
    if "flooding" in station.station.hazards:
        yield made(defaults.FLOODS, "the place floods")


def _fast(station: Station, part: LinePart | None) -> Iterator[Factor]:
    if not isinstance(part, Reducer | ShutOff | Strainer):
        return
    speed = station.demand.average.si / (pi * part.size.si**2 / 4.0)
    if speed > defaults.FAST_FROM.si:
        yield made(defaults.FAST, f"{speed:.1f} m/s at average flow in {part.size.text}")


_OF_FILE: dict[str, Callable[[Station, LinePart | None], Iterator[Factor]]] = {
    "critical": _critical, "warm": _warm, "floods": _floods, "fast": _fast,
}  # fmt: skip
