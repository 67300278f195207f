from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

from steadyhead.design.basis import Basis
from steadyhead.design.ladder import chosen
from steadyhead.design.patching import changed, in_unit
from steadyhead.design.remedies import remedies
from steadyhead.design.rungs import Rungs, rungs
from steadyhead.design.sheet import judge
from steadyhead.design.steps import stairs
from steadyhead.design.twin import SteadyTwin
from steadyhead.records.design import Patch, Remedy
from steadyhead.records.ladder import Stacking
from steadyhead.records.station import Station
from steadyhead.station.document import patch, read_document, remove
from steadyhead.station.load import load
from tests.design.random_stations import empty_windows
from tests.design.stations import DOWNSTREAM, UPSTREAM, limit, part, section, station_of, top

pytestmark = pytest.mark.by_turns(2)

STATIONS = 60
SEED = 20_270_414


def window_of(station: Station) -> Stacking:
    ladder = rungs(Basis(station, SteadyTwin(station))).ladder
    return chosen(ladder, station.stacking)


@pytest.fixture(scope="module")
def offers() -> list[tuple[Basis, Rungs, tuple[Remedy, ...]]]:
    return [(basis, now, remedies(basis, now)) for basis, now in empty_windows(SEED, STATIONS)]


def test_each_remedy_applied_alone_to_the_file_opens_the_window_on_a_fresh_run(offers):
    kinds: Counter[str] = Counter()
    for basis, _, offered in offers:
        for remedy in offered:
            after = window_of(changed(basis.data, remedy.patches))
            assert after.verdict == "open", remedy
            assert after.lowest == pytest.approx(remedy.lowest, abs=1.0)
            assert after.highest == pytest.approx(remedy.highest, abs=1.0)
            assert remedy.gain > 0.0
            kinds.update(remedy.kinds)
    assert len(offers) == STATIONS
    assert sum(bool(offered) for _, _, offered in offers) > 0.7 * STATIONS
    assert {"gauge", "closing", "duty", "replace", "retire", "stacking"} <= kinds.keys()


def test_pairs_are_offered_only_where_no_single_change_opens_the_window(offers):
    sizes = [{len(remedy.kinds) for remedy in offered} for _, _, offered in offers if offered]
    assert all(found in ({1}, {2}) for found in sizes)
    assert {2} in sizes
    for basis, now, offered in offers[:40]:
        if offered and len(offered[0].kinds) == 2:
            strongest = [steps[-1] for steps in stairs(basis, now)]
            assert all(window_of(changed(basis.data, step.patches)).verdict != "open" for step in strongest)


def one_offered(station: Station, kind: str) -> Remedy:
    return next(remedy for remedy in judge(station).remedies if remedy.kinds == (kind,))


def test_a_closing_time_is_the_longest_practical_one_that_opens_the_window():
    station = station_of(UPSTREAM, limit(0, fault="8 bar"))
    remedy = one_offered(station, "closing")
    assert remedy.patches == (Patch(("line", 4, "closing", "time"), "3 s"),) or remedy.patches[0].value in (
        "2 s",
        "2.5 s",
        "4 s",
    )
    steps = ["6 s", "5 s", "4 s", "3 s", "2.5 s", "2 s", "1.5 s", "1 s"]
    slower = steps[steps.index(str(remedy.patches[0].value)) - 1]
    data = Basis(station, SteadyTwin(station)).data
    assert window_of(changed(data, (Patch(remedy.patches[0].path, slower),))).verdict == "empty"
    assert "surge upstream" in remedy.caution


def test_duty_and_lockup_are_lowered_together_and_never_below_what_is_needed():
    station = station_of(UPSTREAM, limit(0, fault="8 bar"))
    remedy = one_offered(station, "duty")
    duty, lockup = (float(str(one.value).split()[0]) for one in remedy.patches)
    assert lockup - duty == pytest.approx(0.2, abs=1e-9)
    needy = station_of(
        UPSTREAM, limit(0, fault="8 bar"), lambda data: data["needs"][0].update(pressure="2.3 bar")
    )
    assert not [one for one in judge(needy).remedies if one.kinds == ("duty",)]


def test_retiring_the_weakest_component_names_it_and_takes_its_limit_out():
    remedy = one_offered(station_of(UPSTREAM, limit(0, fault="8 bar")), "retire")
    assert remedy.patches == (Patch(("limits", 0), None),)
    assert "cast-iron spur to the mill" in remedy.words


def test_root_sum_square_is_offered_as_a_decision_and_asked_about_afterwards():
    station = station_of(UPSTREAM, limit(0, fault="8.2 bar"))
    remedy = one_offered(station, "stacking")
    assert remedy.patches == (Patch(("stacking",), "root-sum-square"),)
    after = judge(changed(Basis(station, SteadyTwin(station)).data, remedy.patches))
    assert {"LAD-05"} <= {one.code for one in after.findings}


def test_a_window_that_nothing_opens_says_so():
    hopeless = station_of(
        UPSTREAM,
        section("zone", volume="3 m³", material="ductile iron", bore_over_wall=None, main=None),
        lambda data: data.update(limits=[{"component": "mains", "fault": "4.6 bar", "level": "96 m"}] * 1),
        lambda data: data["needs"][0].update(pressure="2.3 bar"),
        top(credited=[{"within": "2 s", "at": "night flow"}]),
        part("RV", repeatability="0.1 bar", drift="0.1 bar"),
        part("SO", repeatability="0.1 bar", drift="0.1 bar"),
    )
    sheet = judge(hopeless)
    empty = next(one for one in sheet.findings if one.code == "LAD-04")
    for remedy in sheet.remedies:
        assert "replace" in remedy.kinds
    assert str(empty.params["cure_words"]).startswith(("Each of these", "No single", "No practical"))


def test_a_remedy_that_moves_the_window_past_the_trip_says_where_the_trip_then_goes():
    station = station_of(UPSTREAM, limit(0, fault="8 bar"))
    moved = 0
    for remedy in judge(station).remedies:
        again = changed(Basis(station, SteadyTwin(station)).data, remedy.patches)
        refused = {"LAD-06", "LAD-08"} & {one.code for one in judge(again).findings}
        assert bool(refused) == ("The trip must move too" in remedy.caution), remedy
        if refused:
            moved += 1
            best = remedy.caution.split("too, to ")[1].split(" bar")[0] + " bar"
            data = Basis(again, SteadyTwin(again)).data
            mended = judge(changed(data, (Patch(("line", 4, "trip"), best),)))
            assert not {"LAD-04", "LAD-06", "LAD-08"} & {one.code for one in mended.findings}, remedy
    assert moved


def test_a_window_below_the_smallest_honest_turn_is_called_so():
    station = station_of(UPSTREAM, limit(0, fault="8.24 bar"))
    turn = 15 / 360 * 6.0 / 8.0 * 1e5
    for remedy in judge(station).remedies:
        assert ("smallest honest turn" in remedy.caution) == (remedy.highest - remedy.lowest < turn), remedy
    assert any("smallest honest turn" in remedy.caution for remedy in judge(station).remedies)


def test_an_open_window_needs_no_remedy():
    assert judge(station_of(DOWNSTREAM)).remedies == ()


def test_remedies_can_be_written_into_the_file_itself_and_keep_its_comments():
    from importlib.resources import files

    text = files("steadyhead.station").joinpath("examples", f"{UPSTREAM}.yaml").read_text(encoding="utf-8")
    weak = text.replace("fault: 9 bar, normal: 9 bar", "fault: 8 bar, normal: 9 bar")
    assert weak != text
    sheet = judge(load(weak).station)
    assert sheet.remedies
    for remedy in sheet.remedies:
        document: Any = read_document(weak)
        for one in remedy.patches:
            document = (
                remove(document, one.path) if one.value is None else patch(document, one.path, one.value)
            )
        assert "# Values carry their unit." in document.text
        assert window_of(load(document.text).station).verdict == "open", remedy


@pytest.mark.parametrize(
    ("si", "kind", "unit", "text"),
    [
        (3.95e5, "pressure", "bar", "3.95 bar"),
        (0.006, "ratio", "%", "0.6 %"),
        (6.894757e5, "pressure", "psi", "100 psi"),
    ],
)
def test_new_values_are_written_in_the_units_of_the_file(si, kind, unit, text):
    assert in_unit(si, kind, unit) == text


@pytest.mark.parametrize(
    ("words", "said"),
    [("heater safety valve", None), ("Safety-valve of the boiler", None), ("boiler top", "yes")],
)
def test_what_protects_is_never_offered_for_replacement_or_taken_out(words, said):
    empty = limit(0, component=words, fault="5.4 bar", normal="5.3 bar", protects=said)
    basis = Basis(station := station_of(UPSTREAM, empty), SteadyTwin(station))
    now = rungs(basis)
    assert now.ladder.weakest_fault is not None
    assert now.ladder.weakest_fault.component == words, "it is what closes the window"
    kinds = {step.kind for steps in stairs(basis, now) for step in steps}
    assert kinds
    assert not kinds & {"replace", "retire"}
    plain = station_of(UPSTREAM, limit(0, component="boiler top", fault="5.4 bar", normal="5.3 bar"))
    other = Basis(plain, SteadyTwin(plain))
    assert {"replace", "retire"} <= {s.kind for steps in stairs(other, rungs(other)) for s in steps}
