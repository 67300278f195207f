"""The papers and pictures of a station: design sheet, test plan, station card, strip, ladder."""

from __future__ import annotations

from datetime import date
from typing import Any

from steadyhead import __version__
from steadyhead.drawings import draw_ladder, draw_strip, screen
from steadyhead.errors import InputError
from steadyhead.hydraulics import build, solve
from steadyhead.records.pictures import StripPicture
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions, Steady
from steadyhead.reports import card, design_sheet, plan
from steadyhead.reports.paper import Attachment
from steadyhead.reports.pictures import ladder_picture, strip_picture
from steadyhead.services.judging import Judged
from steadyhead.services.planning import MadePlan
from steadyhead.station.canonical import canonical
from steadyhead.station.load import Loaded
from steadyhead.units import METRIC, UnitSet

PICTURES = ("strip", "ladder")


def drawing(judged: Judged, picture: str, width: int = 1360, units: UnitSet = METRIC) -> str:
    """Return a picture as stand-alone SVG text.

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
            raise InputError("PICTURE", "this station has no ladder yet.", "Give it a duty and limits; check says what is missing.")
        return draw_ladder(shown, palette, width)
    raise InputError("PICTURE", f"got {picture!r}.", f"Use one of: {', '.join(PICTURES)}.")


def design_paper(judged: Judged, units: UnitSet, day: date) -> bytes:
    """Return the design sheet as a PDF."""
    return design_sheet.pdf(
        judged.sheet,
        judged.loaded.station,
        day=day,
        station_hash=judged.loaded.sha256,
        units=units,
        strip=_strip(judged, units),
        ladder=ladder_picture(judged.loaded.station, judged.sheet, units=units),
        files=_station_files(judged.loaded, judged.source),
    )


def plan_paper(made: MadePlan, units: UnitSet, day: date) -> bytes:
    """Return a test plan as a PDF."""
    from steadyhead.procedure.plain import to_bytes

    assert made.procedure is not None
    files = (
        *_station_files(made.loaded, made.source),
        Attachment("plan.json", to_bytes(made.procedure), "the plan as data", "application/json"),
    )
    return plan.pdf(
        made.procedure,
        made.loaded.station,
        day=day,
        units=units,
        strip=strip_picture(made.loaded.station, units=units),
        numbers=made.numbers,
        files=files,
    )


def card_paper(judged: Judged, units: UnitSet, day: date) -> bytes:
    """Return the station card as a PDF."""
    from steadyhead.visits.numbers import openings_of
    from steadyhead.visits.texts import stop_rules

    station = judged.loaded.station
    return card.pdf(
        station,
        day=day,
        station_hash=judged.loaded.sha256,
        engine_version=__version__,
        stop_rules=stop_rules(units),
        units=units,
        strip=_strip(judged, units),
        numbers=openings_of(station),
        files=_station_files(judged.loaded, judged.source),
    )


def card_data(judged: Judged) -> dict[str, Any]:
    """Return what stands on the station card as plain data."""
    from steadyhead.reports.card import content

    return content(judged.loaded.station)


def _strip(judged: Judged, units: UnitSet) -> StripPicture:
    station = judged.loaded.station
    return strip_picture(station, units=units, sheet=judged.sheet, at_rest=_at_rest(station))


def _at_rest(station: Station) -> Steady:
    """Return the station at no flow: highest inlet, consumers isolated."""
    model = build(station)
    outlet = model.layout.outlet_valve
    return solve(model, Conditions(station.supply.static.si, openings={outlet.id: 0.0} if outlet else {}))


def _station_files(loaded: Loaded, source: bytes) -> tuple[Attachment, ...]:
    return (
        Attachment("station.yaml", source, "the station file as given", "application/yaml"),
        Attachment("station.json", loaded.canonical or canonical(loaded.data), "the same as canonical JSON", "application/json"),
    )
