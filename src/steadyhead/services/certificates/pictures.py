"""The pictures of a certificate that need the station file: strip as left, ladder's marks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from steadyhead.drawings.left_marks import LeftMark, LeftPicture
from steadyhead.records.certificate import Certificate, Noted
from steadyhead.records.design import DesignSheet
from steadyhead.records.parts import Tap
from steadyhead.records.pictures import StripPicture, TapPressure
from steadyhead.records.station import Station
from steadyhead.reports.certificate import Pictures
from steadyhead.reports.strips import strip_picture
from steadyhead.station.elevation import to_datum
from steadyhead.station.load import Loaded
from steadyhead.units import UnitSet
from steadyhead.visits.certifying.seen import number
from steadyhead.water import properties

AIR = 101325.0
"""Pressure of the air at which water is weighed; a metre of head moves by less than a thousandth. [Pa]"""
AS_LEFT = ("J3", "Y8", "J2")
"""Steps whose readings show the station as it was left, the best first."""


def pictures(
    record: Certificate, loaded: Loaded | None, sheet: DesignSheet | None, units: UnitSet
) -> Pictures:
    """Return the pictures of a certificate; without a station file there are none.

    Parameters
    ----------
    record
        What is certified.
    loaded, sheet
        The station file and its design sheet.
    units
        Display units.
    """
    if loaded is None:
        return Pictures()
    heights = {part.id: part.height for part in loaded.station.parts() if isinstance(part, Tap)}
    raised = {tap: height.si if height else 0.0 for tap, height in heights.items()}
    weight = properties(loaded.station.water.temperature.si, AIR).density
    return Pictures(
        _strip(record, loaded.station, sheet, units, raised, weight), _left(record, units, raised, weight)
    )


def _strip(
    record: Certificate,
    station: Station,
    sheet: DesignSheet | None,
    units: UnitSet,
    raised: Mapping[str, float],
    weight: float,
) -> StripPicture:
    shown = strip_picture(station, units=units, sheet=sheet)
    step, taken = _as_left(record)
    if not taken:
        return replace(shown, moment="worked out, average flow; not read as left")
    flows = [one.flow for one in taken.values() if one.flow is not None]
    errors = {one.name: one.error for one in record.instruments}
    pressures = tuple(
        _tap(one, taken.get(one.tap), raised.get(one.tap, 0.0), weight, errors) for one in shown.pressures
    )
    when = max(one.at for one in taken.values())
    return replace(
        shown,
        pressures=pressures,
        flow=flows[-1] if flows else None,
        moment=f"as left, step {step}, {when[:10]} {when[11:16]}",
    )


def _as_left(record: Certificate) -> tuple[str, dict[str, Noted]]:
    for base in AS_LEFT:
        for step in record.tests:
            if step.step.partition(".")[0] != base:
                continue
            noted = {
                one.noted.tap: one.noted
                for one in step.lines
                if one.noted is not None and one.quantity == "pressure" and one.noted.tap == one.input
            }
            if noted:
                return step.step, noted
    return "", {}


def _tap(
    worked: TapPressure, noted: Noted | None, height: float, weight: float, errors: Mapping[str, float | None]
) -> TapPressure:
    value = number(noted)
    if noted is None or value is None:
        return replace(worked, now=None, why_missing="not read", at_no_flow=None)
    at = to_datum(value, level=height, datum=0.0, density=weight)
    return TapPressure(worked.tap, at, errors.get(noted.instrument), "read")


def _left(
    record: Certificate, units: UnitSet, raised: Mapping[str, float], weight: float
) -> LeftPicture | None:
    if record.design is None:
        return None

    def at(noted: Noted | None) -> float | None:
        value = number(noted)
        if noted is None or value is None:
            return None
        return to_datum(value, level=raised.get(noted.tap, 0.0), datum=0.0, density=weight)

    marks = tuple(
        LeftMark(one.what, at(one.as_found), at(one.as_left), "" if one.state == "valid" else one.state)
        for one in record.settings
        if one.quantity == "pressure"
    )
    things = dict.fromkeys(one.things for one in record.touched if not one.act.startswith("reset"))
    return LeftPicture(record.station_name, record.datum, record.design.rungs, marks, tuple(things), units)
