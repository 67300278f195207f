"""Files to fill in: one for each layout, and everything open is named at once."""

from __future__ import annotations

import re

import pytest

from steadyhead.design.sheet import judge
from steadyhead.errors import InputError
from steadyhead.findings import Severity
from steadyhead.station.document import patch, read_document
from steadyhead.station.examples import names
from steadyhead.station.layout import CHAINS, read_layout
from steadyhead.station.load import load
from steadyhead.station.plain import from_tree
from steadyhead.station.streams import isolating_valves, views
from steadyhead.station.templates import COMPANIONS, DATA_SHEET, LAYOUTS, new
from steadyhead.station.valve_sheets import load_sheet
from tests.station.files import example, refused

pytestmark = pytest.mark.by_turns(2)

ONE_LINE = ("reducer-alone", "shut-off-upstream", "shut-off-downstream", "two-reducers")
WIDER = {
    "duty-standby": ("several streams", ["duty", "standby"]),
    "low-flow": ("several streams", ["main", "low flow"]),
    "monitor": ("monitor and reducer", ["main"]),
    "building": ("reducer alone", ["main"]),
    "irrigation": ("two reducers in series, shut-off upstream", ["main"]),
    "manual-bypass": ("shut-off upstream", ["main"]),
}
DUTY = {"RVB": "3.7 bar", "LB": "4.2 bar", "MON": "4.5 bar", "RV1": "6.4 bar"}
TRIP = {"SOB": "5.6 bar"}
VALUES = {
    "resets": "by hand", "turns": "20 turns", "closes": "clockwise", "raises": "clockwise",
    "runs_to": "ditch", "trip": "5.2 bar", "time": "6 s", "flow": "5 L/s",
    "spring_low": "1.5 bar", "spring_high": "7 bar",
    "crack": "5.8 bar", "kv": "Kv 60", "precharge": "3.5 bar", "cold": "12 °C", "hot": "60 °C",
    "datum": "96 m", "fire_water": "no", "temperature": "11 °C", "min": "7 bar", "typical": "8.5 bar",
    "night": "9 bar", "static": "9.5 bar", "length": "600 m", "bore": "152 mm", "average": "6 L/s",
    "peak": "15 L/s", "zero_possible": "yes", "level": "90 m", "lowest": "80 m", "highest": "101 m",
    "normal": "6 bar", "fault": "9 bar", "delay": "60 s", "error": "0.05 bar", "span": "10 bar",
    "accuracy": "0.6 %", "due": "2030-01-31", "size": "DN 100",
}  # fmt: skip


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_template_names_every_open_field_and_nothing_else(layout):
    text = new(layout)
    found = refused(text)
    assert {refusal.problem for refusal in found} == {"not filled in."}
    assert len(found) == len(re.findall(r'"\?"', text.partition("format:")[2]))
    assert all(refusal.line for refusal in found)
    assert all(refusal.remedy.startswith("Add it: ") for refusal in found)


@pytest.mark.parametrize("layout", ONE_LINE)
def test_a_template_filled_in_is_a_station_and_keeps_its_comments(layout):
    filled = read_document(new(layout))
    known = from_tree(read_document(example(COMPANIONS[layout])).root).data
    for refusal in refused(filled.text):
        filled = patch(filled, refusal.path, _looked_up(known, refusal.path))
    station = load(filled.text).station
    assert next(part.id for part in station.parts()) == "T0"
    assert filled.text.count("#") == new(layout).count("#")


def _looked_up(known, path):
    """Return the value the companion example has at this place, else one that fits."""
    fallback = {
        "drift": "0",
        "name": "x",
        "id": "X1",
        "fault": "9 bar",
        "night": "6 bar",
        "due": "2027-01-01",
        "fire_water": "no",
    }
    here = known
    if path[0] == "line":
        mine = [part for part in known["line"] if part["id"] == _id_of(path[1], known)]
        here, path = (mine[0], path[2:]) if mine else (None, path)
    for step in path:
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            if path[0] == "limits" and path[-1] == "level":
                return "61 m"
            return fallback.get(str(path[-1]), "3 bar" if path[-1] in ("pressure", "normal") else "text")
    return here["value"] if isinstance(here, dict) else here


def _id_of(index, known):
    return known["line"][index]["id"]


def _filled(layout):
    """Return the station a template becomes with plain values in it."""
    filled = read_document(new(layout))
    for refusal in refused(filled.text):
        filled = patch(filled, refusal.path, _plain(from_tree(filled.root).data, refusal.path))
    assert filled.text.count("#") == new(layout).count("#")
    return load(filled.text).station


def _plain(tree, path):
    """Return a value that fits a field, by its name and the part it stands in."""
    held, part = tree, None
    for step in path[:-1]:
        held = held[step]
        part = held.get("id", part) if isinstance(held, dict) else part
    field = path[-1]
    if field == "pressure" and path[-2] == "duty":
        return DUTY.get(str(part), "4.0 bar")
    if field == "pressure":
        return {"safety_valve": "8 bar", "alarm": "4.8 bar"}.get(path[-2], "1.5 bar")
    if field == "volume":
        return {"zone": "190 m³", "hot_water": "400 L"}.get(path[0], "80 L")
    if path[0] == "demand" and field == "night":
        return "0.5 L/s"
    if field == "trip":
        return TRIP.get(str(part), VALUES["trip"])
    if path[0] == "limits" and held.get("side") == "inlet" and field in ("normal", "fault"):
        return "25 bar"
    return VALUES.get(field, "X1")


@pytest.mark.parametrize("layout", WIDER)
def test_a_template_filled_in_is_of_the_layout_it_is_named_for(layout):
    code, roles = WIDER[layout]
    station = _filled(layout)
    assert read_layout(station).code == code
    found = views(station)
    assert [view.role for view in found] == roles
    assert all(view.layout.code in CHAINS for view in found)
    for branch in (branch for view in found for branch in view.branches.values()):
        assert None not in isolating_valves(station, branch)


@pytest.mark.parametrize("layout", WIDER)
def test_a_template_filled_in_can_be_judged(layout):
    sheet = judge(_filled(layout))
    assert [finding.code for finding in sheet.findings if finding.severity is Severity.STOP] == []
    assert sheet.ladder is not None


def test_the_template_of_a_building_has_relief_vessel_and_heated_water():
    station = _filled("building")
    assert {"relief", "expansion_vessel"} <= {part.part for part in station.parts()}
    assert station.hot_water is not None
    assert station.station.kind == "building plant room"
    assert _filled("irrigation").station.kind == "irrigation"


def test_the_template_of_a_fire_main_asks_the_authority_and_has_no_shut_off():
    station = _filled("fire-main")
    assert station.station.kind == "fire main"
    assert not any(part.part == "shut_off" for part in station.parts())
    assert "LAY-43" in {finding.code for finding in judge(station).findings}


def test_the_template_of_a_manual_bypass_has_it_locked_shut_around_both_valves():
    station = _filled("manual-bypass")
    ((group, bypass),) = read_layout(station).bypasses
    assert bypass.locked_shut
    around = {part.part for branch in group.branches if branch is not bypass for part in branch.line}
    assert {"reducer", "shut_off"} <= around


def test_a_plant_room_is_not_called_a_confined_space_beforehand():
    assert "hazards: [electric]" in new("building")
    assert "hazards: [confined space]" in new("reducer-alone")


def test_the_data_sheet_to_fill_in_becomes_a_sheet():
    text = new(DATA_SHEET)
    for field, value in {
        'name: "?"': "name: hallow-80", 'source: "?"': "source: sheet 3", 'size: "?"': "size: DN 80",
        'kv: "?"   ': "kv: Kv 90", '100 %, kv: "?"': "100 %, kv: Kv 90", '60 %, kv: "?"': "60 %, kv: Kv 70",
        '20 %, kv: "?"': "20 %, kv: Kv 25", 'pressure_recovery: "?"': 'pressure_recovery: "0.9"',
        'incipient: "?"': 'incipient: "2.0"', 'constant: "?"': 'constant: "1.5"',
        'damage: "?"': 'damage: "1.1"',
    }.items():  # fmt: skip
        assert field in text
        text = text.replace(field, value)
    text = text.replace('  source: "?"', "  source: report 3")
    assert "?" not in text.partition("format:")[2]
    assert load_sheet(text.encode()).sheet.name == "hallow-80"


def test_what_fails_is_credited_only_where_a_shut_off_is_there():
    assert {layout for layout in LAYOUTS if "\ncredited:" in new(layout)} == {
        layout for layout in LAYOUTS if "part: shut_off" in new(layout)
    }


def test_every_template_points_to_an_example():
    assert set(COMPANIONS) == set(LAYOUTS)
    assert set(COMPANIONS.values()) <= set(names())
    assert all(f"steadyhead example {COMPANIONS[layout]}" in new(layout) for layout in LAYOUTS)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_metric_and_us_readers_both_find_an_example(layout):
    text = new(layout)
    assert "psi" in text
    assert "bar" in text
    assert "gpm" in text


def test_an_unknown_layout_is_refused_with_a_suggestion():
    with pytest.raises(InputError, match="Did you mean 'two-reducers'"):
        new("two-reducer")
