"""The face of a station: its strip with the pressure line, what needs somebody, and what stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from pydantic import BaseModel, ConfigDict

from steadyhead.drawings import draw_strip, screen
from steadyhead.drawings.alt import alt_text
from steadyhead.records.parts import ShutOff
from steadyhead.records.pictures import StripPicture, TapPressure
from steadyhead.records.station import Station
from steadyhead.register import Register
from steadyhead.reports.strip_water import may_be_shut, unknown_beyond
from steadyhead.services.papers import strip_of
from steadyhead.services.prepared import prepared
from steadyhead.services.stations.head import StationHead, head_and_body
from steadyhead.services.stations.judged import judge_at, judged_view, stage, today
from steadyhead.services.stations.last_read import LastRead, from_plain
from steadyhead.services.stations.situation import say_day
from steadyhead.services.upkeep.next_due import foreseen
from steadyhead.station.canonical import canonical, sha256
from steadyhead.units import METRIC, UnitSet, say

WIDTHS = (1360, 1180, 720, 336)
"""Widths the strip is drawn at: pages from wide to small, and a phone. [px]"""
PAGES = {"visits": "runs", "face": ""}
"""Moments of the life line whose page is called otherwise."""


class NeedView(BaseModel):
    """One thing that needs somebody: how it is marked, what is so, why, what to do next, and where."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    mark: str
    words: str
    because: str
    then: str
    href: str
    code: str
    weight: int


class ReadView(BaseModel):
    """One reading: tap, day and time, pressure at datum [Pa] and in words, ± of the gauge [Pa], gauge."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    tap: str
    at: str
    pressure_pa: float
    tolerance_pa: float | None
    words: str
    gauge: str
    marked: str


class FaceView(BaseModel):
    """The face of a station.

    needs: most serious first; silent: whether nothing needs anybody; is_down: tripped or shut; read: the last
    readings, with the visit they are of; says: the strip in words, for who cannot see it; foreseen: limits
    that loggers say will be met, in words, each with the address of its rows.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    silent: bool
    is_down: bool
    needs: tuple[NeedView, ...]
    proof_mark: str
    proof_words: str
    due_words: str
    due_on: str
    due_why: str
    layout: str
    read_run: str
    read_title: str
    read_day: str
    read: tuple[ReadView, ...]
    says: str
    foreseen: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Strips:
    """The strip at the widths of `WIDTHS`; empty where the file cannot be drawn."""

    drawn: tuple[str, ...]
    says: str


def face(
    register: Register, key: str, units: UnitSet = METRIC, day: date | None = None
) -> tuple[FaceView, Strips]:
    """Return the face of a station and its strips.

    Raises
    ------
    NotKept
        No such station.
    """
    day = day or today()
    with register.reading() as connection:
        head, body = head_and_body(connection, key, day, units)
        ahead = foreseen(connection, key)
    strips = _strips(register, key, body, units, day)
    read = from_plain(body["read"])
    proof, due = body["proof"], body["due"]
    view = FaceView(
        station=head,
        silent=not body["needs"],
        is_down=proof["state"] == "tripped",
        needs=tuple(_need(key, one) for one in body["needs"]),
        proof_mark=body["proof_mark"],
        proof_words=proof["words"],
        due_words=due["words"],
        due_on=due["on"],
        due_why=due["why"],
        layout=body["layout"],
        read_run=read.run if read else "",
        read_title=read.title if read else "",
        read_day=read.day if read else "",
        read=_readings(read, units),
        says=strips.says,
        foreseen=tuple(one for one in ahead if one[0] != due["why"]),
    )
    return view, strips


def prepare(register: Register, key: str, units: UnitSet = METRIC) -> None:
    """Make ready what the first pages of a station show, so that the first look is quick."""
    judged_view(register, key, units)
    face(register, key, units)


def _need(key: str, need: Mapping[str, Any]) -> NeedView:
    moment = PAGES.get(need["moment"], need["moment"])
    anchor = f"#{need['code']}" if need["code"] else ""
    return NeedView(
        mark=need["mark"],
        words=need["words"],
        because=need["because"],
        then=need["then"],
        href=f"/stations/{key}/{moment}{anchor}".rstrip("/"),
        code=need["code"],
        weight=need["weight"],
    )


def _readings(read: LastRead | None, units: UnitSet) -> tuple[ReadView, ...]:
    return tuple(
        ReadView(
            tap=one.tap,
            at=one.at,
            pressure_pa=one.pressure,
            tolerance_pa=one.tolerance,
            words=say(one.pressure, "pressure", units),
            gauge=one.gauge,
            marked=one.marked,
        )
        for one in (read.readings if read else ())
    )


def _strips(register: Register, key: str, body: Mapping[str, Any], units: UnitSet, day: date) -> Strips:
    if not body["is_read"]:
        return Strips((), "")
    down = body["proof"]["words"] if body["proof"]["state"] == "tripped" else ""
    parts = {
        "file": body["file"],
        "stage": stage(body["turns"], day),
        "units": f"{units.name} {units.decimal}",
        "read": sha256(canonical(body["read"])),
        "down": down,
    }
    made: list[StripPicture] = []

    def picture() -> StripPicture:
        if not made:
            source = register.content(body["file"]) or b""
            made.append(_picture(source, day, units, from_plain(body["read"]), down))
        return made[0]

    drawn = tuple(
        prepared(
            register, key, "strip", parts | {"width": str(width)},
            lambda width=width: draw_strip(picture(), screen(), width).encode(),  # type: ignore[misc]
        ).decode()
        for width in WIDTHS
    )  # fmt: skip
    says = prepared(register, key, "strip says", parts, lambda: alt_text(picture()).encode()).decode()
    return Strips(drawn, says)


def _picture(source: bytes, day: date, units: UnitSet, read: LastRead | None, down: str) -> StripPicture:
    judged = judge_at(source, day)
    station = judged.loaded.station
    tripped = _tripped(station, down) if down else frozenset()
    shown = strip_of(judged, units, tripped=tripped)
    if down:
        lost = tuple(
            replace(one, now=None, at_no_flow=None, why_missing="not read since") for one in shown.pressures
        )
        parts, branches = shown.parts, shown.branches
        if not tripped:
            parts, branches = unknown_beyond(parts, branches, may_be_shut)
        shown = replace(shown, parts=parts, branches=branches, pressures=lost, flow=None, moment=down)
    return _with_readings(shown, read) if read is not None else shown


def _tripped(station: Station, words: str) -> frozenset[str]:
    """Return the shut-offs that are shut: those the words name, else all."""
    ids = [part.id for part in station.parts() if isinstance(part, ShutOff)]
    named = [one for one in ids if one in words.replace(",", " ").split()]
    return frozenset(named or ids)


def _with_readings(shown: StripPicture, read: LastRead) -> StripPicture:
    """Return the strip with what was read in place of what was worked out; what was not read says so."""

    def at(tap: TapPressure) -> TapPressure:
        found = read.at(tap.tap)
        if found is None:
            return tap
        return replace(tap, now=found.pressure, tolerance=found.tolerance, source="read", why_missing="")

    moment = f"ringed: read {say_day(read.day)}, {read.title}".rstrip(", ")
    rest = f"; else {shown.moment}" if shown.moment else ""
    return replace(shown, pressures=tuple(at(one) for one in shown.pressures), moment=moment + rest)
