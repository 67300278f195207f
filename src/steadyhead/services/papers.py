"""Papers and pictures of a station: design sheet, test plan, card, strip, ladder, capacity map."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from datetime import date
from math import isfinite
from typing import Any

from steadyhead import __version__
from steadyhead.design.sheet import judge
from steadyhead.drawings import alt_text, draw_capacity, draw_ladder, draw_strip, screen
from steadyhead.errors import InputError
from steadyhead.hydraulics import build, solve
from steadyhead.records.parts import IsolatingValve, Parallel, Reducer, ShutOff
from steadyhead.records.pictures import CapacityPicture, LadderPicture, StripPicture
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Kind
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions, Steady
from steadyhead.reports import card, design_sheet, plan
from steadyhead.reports.card_left import NOTHING, AsLeft
from steadyhead.reports.paper import Attachment
from steadyhead.reports.pictures import ladder_picture, strip_picture
from steadyhead.services.capacity import (
    capacity_picture,
    capacity_pictures,
    compared_sheets,
    design_data,
    required_of,
)
from steadyhead.services.judging import Judged
from steadyhead.services.planning import MadePlan, plan_station
from steadyhead.station.canonical import canonical
from steadyhead.station.load import Loaded
from steadyhead.station.valve_sheets import SheetFile
from steadyhead.units import METRIC, UnitSet

PICTURES = ("strip", "ladder", "map")
GENERAL_STOP_RULE = (
    "Stop and back out when anything differs from what you expect, "
    "and when you cannot say what the next turn will do."
)


def drawing(
    judged: Judged, picture: str, width: int = 1360, units: UnitSet = METRIC, reducer: str = ""
) -> str:
    """Return a picture as stand-alone SVG text; the map is that of the first reducer unless one is named.

    Raises
    ------
    InputError
        A picture that is not known, or that this station has not got.
    """
    palette = screen(embed=True)
    if picture == "strip":
        return draw_strip(_strip(judged, units), palette, width)
    if picture == "ladder":
        shown = ladder_picture(judged.loaded.station, judged.sheet, units=units)
        if shown is None:
            raise InputError(
                "PICTURE",
                "this station has no ladder yet.",
                "Give it a duty and limits; check says what is missing.",
            )
        return draw_ladder(shown, palette, width)
    if picture == "map":
        return draw_capacity(capacity_picture(judged, reducer, units), palette, width)
    raise InputError("PICTURE", f"got {picture!r}.", f"Use one of: {', '.join(PICTURES)}.")


def picture_data(judged: Judged, picture: str, units: UnitSet = METRIC, reducer: str = "") -> dict[str, Any]:
    """Return what a picture shows as plain data (SI), with its sentence for who cannot see it.

    Raises
    ------
    InputError
        As `drawing`.
    """
    station = judged.loaded.station
    shown: StripPicture | LadderPicture | CapacityPicture | None
    if picture == "map":
        shown = capacity_picture(judged, reducer, units)
    elif picture == "strip":
        shown = _strip(judged, units)
    else:
        shown = ladder_picture(station, judged.sheet, units=units)
    if shown is None:
        raise InputError("PICTURE", "this station has no ladder yet.", "Check says what is missing.")
    return {
        "format": "steadyhead/picture/1",
        "picture": picture,
        "says": alt_text(shown),
        "facts": _plain(asdict(shown)),
    }


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return float(f"{value:.9g}") if isfinite(value) else None
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value


def design_paper(judged: Judged, units: UnitSet, day: date, revision: str = "") -> bytes:
    """Return the design sheet as a PDF; `revision` as in ``r3``, empty where the file is not released."""
    sheets = compared_sheets(judged)
    return design_sheet.pdf(
        judged.sheet,
        judged.loaded.station,
        day=day,
        revision=revision,
        station_hash=judged.loaded.sha256,
        units=units,
        strip=_strip(judged, units),
        ladder=ladder_picture(judged.loaded.station, judged.sheet, units=units),
        maps=capacity_pictures(judged, units),
        required=required_of(judged, sheets),
        files=(
            *_station_files(judged.loaded, judged.source),
            Attachment(
                "design.json", canonical(design_data(judged)), "the design sheet as data", "application/json"
            ),
            *_sheet_files(
                (sheet for sheet in sheets if sheet not in judged.loaded.sheets),
                "a valve data sheet compared",
            ),
        ),
    )


def plan_paper(made: MadePlan, units: UnitSet, day: date, revision: str = "") -> bytes:
    """Return a test plan as a PDF; `revision` as in ``r3``, empty where the file is not released."""
    from steadyhead.procedure.plain import to_json

    assert made.procedure is not None
    files = (
        *_station_files(made.loaded, made.source),
        Attachment("plan.json", to_json(made.procedure), "the plan as data", "application/json"),
    )
    return plan.pdf(
        made.procedure,
        made.loaded.station,
        day=day,
        revision=revision,
        units=units,
        strip=_strip(Judged(made.loaded, made.source, judge(made.loaded.station)), units),
        numbers=made.numbers,
        files=files,
    )


def card_paper(
    judged: Judged, units: UnitSet, day: date, revision: str = "", left: AsLeft = NOTHING
) -> bytes:
    """Return the station card as a PDF; `revision` as in ``r3``, empty where the file is not released.

    left: what the last certificate left at the station.
    """
    rules, numbers = _card_facts(judged, units)
    return card.pdf(
        judged.loaded.station,
        day=day,
        revision=revision,
        station_hash=judged.loaded.sha256,
        engine_version=__version__,
        stop_rules=rules,
        units=units,
        strip=_strip(judged, units),
        numbers=numbers,
        sheet=judged.sheet,
        files=_station_files(judged.loaded, judged.source),
        left=left,
    )


def card_data(judged: Judged, units: UnitSet = METRIC, left: AsLeft = NOTHING) -> dict[str, Any]:
    """Return what stands on the station card as plain data, in the reader's units."""
    rules, numbers = _card_facts(judged, units)
    return {
        "format": "steadyhead/card/1",
        **card.content(
            judged.loaded.station,
            stop_rules=rules,
            units=units,
            numbers=numbers,
            sheet=judged.sheet,
            left=left,
        ),
    }


def _card_facts(judged: Judged, units: UnitSet) -> tuple[list[str], PlanNumbers | None]:
    """Return the stop rules in words and the inlet valve's openings; a station without a plan has blanks.

    Of several streams the openings are those with one stream out, where that can be done: so the card has it.
    """
    from steadyhead.station.streams import views
    from steadyhead.visits.questions import tap_of_role
    from steadyhead.visits.rules import at_outlet
    from steadyhead.visits.several.ways import has_several
    from steadyhead.visits.texts import say

    kind: Kind = "yearly" if has_several(judged.loaded.station) else "first"
    made = plan_station(judged.loaded, judged.source, kind)
    if made.procedure is None:
        return [GENERAL_STOP_RULE], None
    outlet = tap_of_role(views(judged.loaded.station)[0].layout).get("T4", "")
    return [say(at_outlet(rule, outlet), units) for rule in made.procedure.stop_rules], made.numbers


def strip_of(judged: Judged, units: UnitSet = METRIC, tripped: frozenset[str] = frozenset()) -> StripPicture:
    """Return the facts of a station's strip, pressures worked out; tripped: shut-offs that are shut."""
    station = judged.loaded.station
    return strip_picture(station, units=units, sheet=judged.sheet, at_rest=_at_rest(station), tripped=tripped)


def _strip(judged: Judged, units: UnitSet) -> StripPicture:
    return strip_of(judged, units)


def _at_rest(station: Station) -> Steady | None:
    """Return the station at no flow: highest inlet, consumers isolated; None where nobody can say."""
    outlet = _last_valve(station)
    openings = {outlet.id: 0.0} if outlet else {}
    try:
        return solve(build(station), Conditions(station.supply.static.si, openings=openings))
    except InputError:
        return None  # a finding says what is amiss


def _last_valve(station: Station) -> IsolatingValve | None:
    """Return the isolating valve behind all streams; None where the line ends otherwise."""
    for part in reversed(station.line):
        if isinstance(part, IsolatingValve):
            return part
        if isinstance(part, Reducer | ShutOff | Parallel):
            return None
    return None


def _sheet_files(sheets: Iterable[SheetFile], what: str) -> tuple[Attachment, ...]:
    return tuple(
        Attachment(f"{sheet.sheet.name}.yaml", sheet.source, what, "application/yaml") for sheet in sheets
    )


def _station_files(loaded: Loaded, source: bytes) -> tuple[Attachment, ...]:
    return (
        Attachment("station.yaml", source, "the station file as given", "application/yaml"),
        Attachment(
            "station.json",
            loaded.canonical or canonical(loaded.data),
            "the same as canonical JSON",
            "application/json",
        ),
        *_sheet_files(loaded.sheets, "a valve data sheet it rests on"),
    )
