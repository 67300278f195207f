"""The design a run was held against, as its certificate carries it."""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass
from typing import Any

from steadyhead.errors import InputError
from steadyhead.records.certificate import Design, Row
from steadyhead.records.design import DesignSheet
from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.station import Station
from steadyhead.reports.identity import identity as identity_rows
from steadyhead.reports.ladders import chosen_stacking, failure_words
from steadyhead.services.release import FORMAT
from steadyhead.station.canonical import sha256
from steadyhead.units import UnitSet, say
from steadyhead.visits.certifying.seen import kept

_REMEDY = "Name the record that steadyhead release wrote."


@dataclass(frozen=True, slots=True)
class Release:
    """What the record of a release says."""

    revision: str
    by: str
    at: str
    sha256: str
    source: bytes


def read_release(content: bytes, where: str = "release") -> Release:
    """Return a release read from its record.

    Raises
    ------
    InputError
        No such record, or one whose station file does not fit its hash.
    """
    try:
        record: Any = json.loads(content)
        file = record["file"]
        text = file["content"]
        source = base64.b64decode(text) if file["encoding"] == "base64" else text.encode("utf-8")
        found = Release(
            f"r{int(record['revision'])}",
            str(record["released_by"]),
            str(record["released_at"]),
            sha256(content),
            source,
        )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise InputError(where, "is no record of a release.", _REMEDY) from None
    if record.get("format") != FORMAT or file.get("sha256") != sha256(source):
        raise InputError(where, "is no record of a release, or was changed.", _REMEDY)
    return found


def design_of(station: Station, sheet: DesignSheet, release: Release | None, units: UnitSet) -> Design:
    """Return the design of a station as its certificate carries it.

    Parameters
    ----------
    station, sheet
        The station file's record and its design sheet.
    release
        Its release; None: not at hand.
    units
        In which rows of words are written.
    """
    return Design(
        release.revision if release else "",
        release.by if release else "",
        release.at if release else "",
        release.sha256 if release else "",
        tuple(_rungs(sheet)),
        _weakest(sheet, "normal"),
        _weakest(sheet, "fault"),
        tuple(_failures(sheet, units, credited=True)),
        tuple(_failures(sheet, units, credited=False)),
        tuple(_flows(station, units)),
        tuple(_inlet(station, units)),
        _is_proved(sheet),
    )


def _is_proved(sheet: DesignSheet) -> bool:
    peaks = () if sheet.ladder is None else sheet.ladder.peaks
    return any(peak.proved for peak in peaks)


def _rungs(sheet: DesignSheet) -> list[tuple[str, float]]:
    """Return the rungs of the ladder from the top down. [Pa at datum]"""
    ladder = sheet.ladder
    if ladder is None:
        return []
    given, stacking = ladder.inputs, chosen_stacking(sheet, ladder)
    rows = [
        ("fault limit", given.fault_limit),
        ("normal limit", given.normal_limit),
        ("peak in the credited failure", stacking.peak),
        ("trip, upper edge", stacking.trip_upper_edge),
        ("trip", given.trip),
        ("trip, lower edge", stacking.trip_lower_edge),
        ("relief starts to lift", given.relief_crack),
        ("high alarm", given.alarm),
        ("highest normal, heated", ladder.heated),
        ("highest normal", ladder.highest_normal),
        ("lock-up", given.lockup),
        ("duty", given.duty),
        ("lowest normal", ladder.lowest_normal),
        ("needed", given.needed),
    ]
    return [(name, kept(value)) for name, value in rows if value is not None]


def _weakest(sheet: DesignSheet, which: str) -> tuple[float | None, str]:
    ladder = sheet.ladder
    item: ComponentLimit | None = None if ladder is None else getattr(ladder, f"weakest_{which}")
    limit = None if ladder is None else getattr(ladder.inputs, f"{which}_limit")
    return (None if limit is None else kept(limit), item.component if item else "no component stated")


def _failures(sheet: DesignSheet, units: UnitSet, *, credited: bool) -> list[str]:
    ladder = sheet.ladder
    found: list[str] = []
    if ladder is None:
        return found
    for peak in ladder.peaks:
        if peak.credited is credited and (credited or peak.covered is False):
            reaches = (
                f"peak {say(peak.peak, 'pressure', units)}" if peak.peak is not None else "peak not known"
            )
            lumped = "" if _is_proved(sheet) else ", lumped, no proof"
            found.append(f"{failure_words(ladder, peak)}: {reaches}{lumped}")
    return found


def _flows(station: Station, units: UnitSet) -> list[Row]:
    demand = station.demand
    rows = [
        ("night", demand.night),
        ("average", demand.average),
        ("peak", demand.peak),
        ("fire", demand.fire),
    ]
    told = [(name, say(value.si, "flow", units)) for name, value in rows if value is not None]
    return [*told, ("falls to zero", "yes" if demand.zero_possible else "no")]


def _inlet(station: Station, units: UnitSet) -> list[Row]:
    supply = station.supply
    rows = [
        ("lowest", supply.min),
        ("typical", supply.typical),
        ("night", supply.night),
        ("static", supply.static),
    ]
    return [(name, say(value.si, "pressure", units)) for name, value in rows if value is not None]


def identity_of(station: Station, sheet: DesignSheet, units: UnitSet) -> tuple[Row, ...]:
    """Return which station this is, and what rides on it."""
    who = station.station
    rows: list[Row] = [(name, value) for name, value in identity_rows(station, units)]
    has_fire = who.fire_water or station.demand.fire is not None
    serves = [
        f"sensitive consumers: {who.sensitive_consumers}" if who.sensitive_consumers else "",
        "fire water passes through" if has_fire else "",
        "no other feed" if not station.zone.other_feed else "",
    ]
    rows += [
        ("Layout", sheet.layout),
        ("Protects", _weakest(sheet, "fault")[1]),
        (
            "Criticality",
            "; ".join(filter(None, serves)) or "no sensitive consumers stated; rank: owner's list",
        ),
        *(() if has_fire else (("Fire water", "none stated to pass through"),)),
        ("Drawing", "station file as attached to the design sheet"),
    ]
    return tuple(rows)
