"""What the limits of a file leave open: lock-up below duty, warm plastic, an outlet too weak for a proof."""

from __future__ import annotations

import pytest

from steadyhead.design.limit_checks import is_plastic
from steadyhead.design.sheet import judge
from steadyhead.findings import Finding, Severity
from tests.design.code_cases import outlet_meter
from tests.design.stations import ALONE, SERIES, UPSTREAM, Edit, limit, part, section, station_of, top


def found(code: str, name: str, *edits: Edit) -> list[Finding]:
    return [one for one in judge(station_of(name, *edits)).findings if one.code == code]


@pytest.mark.source(
    kind="analytic", ref="highest normal = duty + repeatability 0.10 + drift 3 % of it, by hand"
)
def test_a_lock_up_below_duty_is_asked_about_and_the_ladder_takes_the_duty():
    sheet = judge(station_of(UPSTREAM, part("RV", lockup="3.9 bar")))
    assert sheet.ladder is not None
    assert not sheet.releasable
    assert sheet.ladder.inputs.lockup == sheet.ladder.inputs.duty
    assert sheet.ladder.highest_normal == pytest.approx(4.0e5 + 0.10e5 + 0.03 * 4.0e5)
    assert found("LAD-36", UPSTREAM)[:1] == []


def test_a_lock_up_below_duty_never_lowers_the_window():
    low, level = (judge(station_of(UPSTREAM, part("RV", lockup=p))).ladder for p in ("3.7 bar", "4.0 bar"))
    assert low is not None
    assert level is not None
    assert low.worst_case.lowest == pytest.approx(level.worst_case.lowest)


@pytest.mark.parametrize(
    ("words", "plastic"),
    [
        ("PVC-U distribution main", True),
        ("PVC laterals", True),
        ("uPVC main", True),
        ("PE100 services", True),
        ("HDPE crossing", True),
        ("polyethylene services", True),
        ("pipe of plastic", True),
        ("cast-iron spur to the mill", False),
        ("house fittings in the lane", False),
        ("vat heat exchangers", False),
        ("copper pipe", False),
    ],
)
def test_a_component_is_known_as_plastic_by_its_words(words, plastic):
    one = station_of(UPSTREAM).limits[0]
    assert is_plastic(one.model_copy(update={"component": words, "source": ""})) is plastic


def test_a_warm_plastic_without_derating_is_asked_about_by_name():
    warm = section("water", highest="26 °C")
    asked = found("LAD-41", UPSTREAM, warm)
    assert [one.params["component"] for one in asked] == ["PVC-U distribution main"]
    assert asked[0].severity is Severity.ASK
    assert not found("LAD-41", UPSTREAM, warm, limit(1, derating="80 %"))
    assert not found("LAD-41", UPSTREAM, section("water", highest="20 °C"))


def test_the_usual_temperature_counts_where_no_warmest_is_stated():
    assert found("LAD-41", UPSTREAM, section("water", temperature="24 °C", lowest=None, highest=None))


def test_a_plastic_zone_counts_where_no_component_is_named_as_plastic():
    warm, unnamed = section("water", highest="26 °C"), limit(1, component="distribution main")
    assert found("LAD-41", UPSTREAM, warm, unnamed)[0].params["component"] == "the zone's PVC-U"
    assert not found("LAD-41", UPSTREAM, warm, unnamed, limit(0, derating="90 %"))
    iron = section("zone", material="ductile iron", main=None)
    assert not found("LAD-41", UPSTREAM, warm, unnamed, iron)


@pytest.mark.source(kind="analytic", ref="limit · derating, carried to the datum 25 m above: hydrostatics")
def test_a_stated_derating_lowers_the_limit():
    full, less = (judge(station_of(UPSTREAM, limit(1, derating=share))).ladder for share in ("100 %", "80 %"))
    assert full is not None
    assert less is not None
    at = [one.components[1].fault_at_datum for one in (full, less)]
    assert at[0] is not None
    assert at[1] is not None
    assert at[0] - at[1] == pytest.approx(0.2 * 10e5)


def test_an_outlet_that_bears_less_than_the_trips_upper_edge_is_told_before_the_visit():
    one = found("LAD-42", UPSTREAM, outlet_meter)[0]
    ladder = judge(station_of(UPSTREAM)).ladder
    assert ladder is not None
    assert one.severity is Severity.HEED
    assert one.value is not None
    assert one.margin is not None
    assert one.value.si == ladder.worst_case.trip_upper_edge
    assert one.margin.si < 0.0
    assert not found("LAD-42", UPSTREAM, outlet_meter, part("SO", live_trip="not allowed"))


def test_a_reducer_alone_that_stays_above_the_normal_limit_is_told():
    one = found("LAD-40", ALONE)[0]
    assert one.severity is Severity.HEED
    assert one.value is not None
    assert one.value.si == pytest.approx(7.6e5)
    assert not found("LAD-40", ALONE, limit(0, normal="8 bar"))
    assert not found("LAD-40", ALONE, limit(0, fault="7 bar", normal="6 bar")), "LAD-29 stops it already"


def test_the_first_of_two_reducers_that_leaves_more_than_the_normal_limit_is_told():
    assert found("LAD-40", SERIES)[0].params["reducer"] == "RV2"
    assert not found("LAD-40", SERIES, limit(0, normal="160 psi"))


def test_fire_water_is_asked_about_however_the_file_says_it():
    no_answer = top(answers=None)
    for edit in (section("station", kind="fire main"), section("station", fire_water="yes"), no_answer):
        assert found("LAY-26", UPSTREAM, no_answer, edit)[0].severity is Severity.ASK
    assert found("LAY-26", UPSTREAM)[0].severity is Severity.NOTE, "the authority's answer is on file"
    assert not found("LAY-26", UPSTREAM, section("demand", fire=None))


def test_the_authoritys_answer_stays_while_the_file_says_otherwise_and_the_contradiction_is_asked():
    denied = section("station", fire_water="no")
    one = found("LAY-41", UPSTREAM, denied)[0]
    assert (one.severity, one.subject) == (Severity.ASK, "station.fire_water")
    assert one.value is not None
    assert one.value.si == pytest.approx(0.030)
    assert found("LAY-26", UPSTREAM, denied)[0].severity is Severity.NOTE
    assert not found("STN-01", UPSTREAM, denied)
    assert not found("LAY-41", UPSTREAM, denied, section("demand", fire=None))
    assert not found("LAY-41", UPSTREAM)
    assert found("LAY-41", ALONE, denied, section("demand", fire="20 L/s")), "asked without a shut-off too"
