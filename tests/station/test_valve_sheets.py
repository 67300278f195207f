from __future__ import annotations

import pytest

from steadyhead.errors import InputErrors
from steadyhead.records.parts import Reducer
from steadyhead.records.values import Origin
from steadyhead.station.load import load
from steadyhead.station.mechanics import reducer_twin
from steadyhead.station.valve_sheets import SheetFile, load_sheet, named_sheets, with_sheets
from tests.station.valve_sheet_files import SHEET, station_text


def sheet(text: str = SHEET) -> SheetFile:
    return load_sheet(text.encode(), "hallow.yaml")


def reducer(station_text: str, file: SheetFile | None = None) -> Reducer:
    station, _ = with_sheets(load(station_text).station, lambda name: file or sheet())
    return next(part for part in station.parts() if isinstance(part, Reducer))


def test_a_sheet_fills_what_the_station_file_leaves_out_and_names_itself_as_the_source():
    part = reducer(station_text())
    assert part.kv is not None
    assert part.kv.si == 160.0
    assert f"hallow-100@{sheet().sha256[:12]}" in part.kv.source
    twin = reducer_twin(part)
    assert twin.pressure_recovery.si == 0.88
    assert twin.stroke.text == "26 mm"
    assert twin.kv.origin is Origin.STATED
    assert part.cavitation is not None
    assert "hallow-100@" in part.cavitation.source


def test_the_lift_table_becomes_the_curve_from_shut_to_full():
    curve = reducer_twin(reducer(station_text())).curve
    assert curve == ((0.0, 0.0), (0.2, 0.25), (0.6, 0.75), (1.0, 1.0))


def test_what_the_station_file_states_stands():
    own = {
        "kv": "Kv 150",
        "mechanics": "{curve_shape: '0', pressure_recovery: 0.8}",
        "cavitation": "{index: sigma 1, source: own test, limits: [{lift: 50 %, damage: 1.5}]}",
    }
    part = reducer(station_text(**own))
    assert part.kv is not None
    assert part.kv.si == 150.0
    assert part.mechanics.pressure_recovery is not None
    assert part.mechanics.pressure_recovery.si == 0.8
    assert part.mechanics.curve is None
    assert part.cavitation is not None
    assert part.cavitation.source == "own test"


def test_a_station_without_a_sheet_is_left_as_it_is():
    text = station_text().replace("    data_sheet: hallow-100\n", "")
    station = load(text).station
    assert with_sheets(station, lambda name: None) == (station, ())


def test_a_bare_sheet_fills_in_no_more_than_it_states():
    bare = SHEET.partition("stroke:")[0]
    part = reducer(station_text(), sheet(bare))
    assert part.kv is not None
    assert part.cavitation is None
    assert part.mechanics.model_fields_set == set()


def test_reference_with_a_hash_holds_the_sheet_to_one_content():
    good = sheet().sha256[:8]
    assert reducer(station_text(f"hallow-100@{good}")).kv is not None
    with pytest.raises(InputErrors, match="asks for hallow-100@00000000"):
        reducer(station_text("hallow-100@00000000"))


def test_a_sheet_that_is_not_there_is_asked_for():
    with pytest.raises(InputErrors, match=r"not in your library.*--keep"):
        with_sheets(load(station_text()).station, lambda name: None)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [("DN 100", "DN 150", "size DN 150; RV is"), ("valve: reducer", "valve: shut-off", "RV is a reducer")],
)
def test_a_sheet_of_another_valve_is_refused(old: str, new: str, told: str):
    with pytest.raises(InputErrors, match=told):
        reducer(station_text(), sheet(SHEET.replace(old, new)))


def test_sheets_are_filled_in_on_branches_too():
    text = station_text()
    assert named_sheets(load(text).station) == ("hallow-100",)
    from tests.reports.stations import with_bypass

    station = with_bypass(load(text).station)
    filled, used = with_sheets(station, lambda name: sheet())
    assert len(used) == 1
    assert next(p for p in filled.parts() if isinstance(p, Reducer)).kv is not None


@pytest.mark.parametrize("reference", ["../x", "a b", "x@12", ""])
def test_a_reference_is_a_plain_name(reference: str):
    with pytest.raises(InputErrors, match="data_sheet"):
        load(station_text(f"'{reference}'"))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("format: steadyhead/valve/1", "format: steadyhead/valve/9", "A data sheet starts with"),
        ("size: DN 100", "size: 100", "without a unit"),
        ("size: DN 100\n", "", "missing"),
        ("valve: reducer", "valve: tap", "Use one of"),
        ("kv: Kv 160\n", "kv: Kv 160\ncolour: blue\n", "is no field here"),
        ("name: hallow-100", "name: hallow 100", "name"),
        ("{lift: 100 %, kv: Kv 160}", "{lift: 90 %, kv: Kv 160}", "End it at lift 100 %"),
        ("{lift: 60 %, kv: Kv 120}", "{lift: 60 %, kv: Kv 20}", "does not fall"),
        ("stroke: 26 mm", "kv: Kv 2", "stands twice"),
        ("stroke: 26 mm", "stroke: {", "hallow.yaml|station file|YAML|line"),
    ],
)
def test_a_sheet_that_cannot_be_used_says_where_and_why(old: str, new: str, told: str):
    assert old in SHEET
    with pytest.raises(InputErrors, match=told):
        sheet(SHEET.replace(old, new))


def test_a_list_is_no_sheet():
    with pytest.raises(InputErrors, match="A data sheet starts with"):
        sheet("- 1\n")
