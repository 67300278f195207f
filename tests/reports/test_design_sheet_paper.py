from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from steadyhead.design.sheet import judge
from steadyhead.findings import Finding, Severity
from steadyhead.findings.model import pressure
from steadyhead.records.design import DesignSheet
from steadyhead.reports import design_sheet
from steadyhead.reports.paper import Attachment
from steadyhead.reports.pictures import ladder_picture, strip_picture
from steadyhead.units import METRIC, US, UnitSet
from tests.reports import reading
from tests.reports.example_sheet import LADDER, sheet
from tests.reports.stations import NAMES, station

pytestmark = pytest.mark.by_turns(2)

DAY = date(2026, 9, 14)
STOP = Finding("LAD-01", "limits", Severity.STOP)
NOTE = Finding(
    "LAD-03",
    "limits",
    Severity.NOTE,
    {"component": "old spur"},
    pressure(4.65e5),
    pressure(5.94e5),
    case="no flow",
)


def made(judged: DesignSheet, about=None, *, units: UnitSet = METRIC, pictures: bool = True, **more) -> bytes:
    about = about or station()
    return design_sheet.pdf(
        judged,
        about,
        day=DAY,
        station_hash="5e21c0ffee" * 6,
        units=units,
        strip=strip_picture(about, sheet=judged, units=units) if pictures else None,
        ladder=ladder_picture(about, judged, units=units) if pictures else None,
        **more,
    )


def test_the_verdict_comes_first_and_says_why():
    first = reading.pages(made(sheet(findings=(STOP, NOTE))))[0]
    assert "Not releasable: 1 stop." in first
    assert "1. Fault limit not known" in first
    assert "Worst case: empty, the edges cross by 0.03 bar." in first
    assert "Root-sum-square: open from 4.98 to 5.16 bar; the trip, 5.10 bar, lies inside." in first
    assert first.index("Not releasable:") < first.index("Which station")


@pytest.mark.parametrize(
    ("findings", "revision", "words"),
    [
        ((), "", "Not released yet. No finding forbids a release."),
        ((NOTE,), "r3", "Released as r3. No finding forbids it."),
        ((STOP, replace(STOP, severity=Severity.ASK)), "", "Not releasable: 1 stop and 1 open question."),
    ],
)
def test_released_and_not_released_are_told_apart(findings, revision, words):
    assert words in reading.pages(made(sheet(findings=findings), revision=revision))[0]


def test_every_finding_is_told_with_reason_and_cure():
    words = reading.text(made(sheet(findings=(STOP, NOTE))))
    assert "Stop: Fault limit not known" in words
    assert "Because: Without the pressure the pipes bear in a fault" in words
    assert "What would mend it: List every component class" in words
    assert "Highest normal 4.65 bar is above the normal limit 5.94 bar" in words


def test_credited_not_covered_and_common_causes_stand_beside_each_other():
    words = reading.text(made(sheet()))
    assert "reducer drifts open in 2 min, night flow 5.6 s 0.57 5.88 yes credited" in words
    assert "reducer fails open in 2 s, night flow 5.6 s 1.35 6.66 no" in words
    assert "Not covered – main diaphragm of the reducer bursts" in words
    assert "the same dirty water reaches both pilots" in words


def test_sizing_shows_needed_against_available_and_both_cavitation_indices():
    words = reading.text(made(sheet(), pictures=False))
    assert "Kv 150.0 ± 30.0" in words
    assert "peak, lowest inlet 22.00 48.0 (32 %) 40 % 2.8 2.40 1.40 holding" in words
    assert "night, static inlet 1.80 2.8 (2 %) 2 % 0.2 1.65 0.65 holding, cavitation begins" in words


def test_stated_values_carry_their_source_and_defaults_their_evidence():
    words = reading.text(made(sheet(), pictures=False))
    assert "supply › min 7.2 bar logger at T0, seven days, 2026-03-02, measured" in words
    assert "SO closing needle Kv 0.33 own estimate" in words


def test_remedies_show_the_window_they_open_and_the_change_of_the_file():
    words = reading.text(made(sheet(), pictures=False))
    assert "Set the trip with a better gauge. 5.05 to 5.08 bar 0.06 bar gauges.0.accuracy: 0.4 %" in words


def test_the_weakest_component_is_marked_and_carried_to_datum():
    words = reading.text(made(sheet(), pictures=False))
    assert "121.0 m 8.00 / 8.00 5.94 / 5.94 weakest, normal and fault; plate 1971" in words


@pytest.mark.source(kind="analytic", ref="1 psi = 6894.757 Pa, from NIST SP 811 (2008), appendix B.8")
def test_us_readers_get_their_units():
    words = reading.text(made(sheet(), units=US))
    assert "Root-sum-square: open from 72.3 to 74.8 psi; the trip, 74.0 psi, lies inside." in words
    assert "Cv needed" in words


def test_a_station_without_a_ladder_still_gets_its_sheet():
    bare = sheet(
        ladder=None, reducers=(), gauges=(), losses=(), pipes=(), remedies=(), layout="not yet covered"
    )
    words = reading.text(made(bare))
    assert "No pressure ladder: layout not yet covered." in words
    assert "Pressure ladder " not in words


def test_a_design_without_a_chosen_trip_says_so():
    bare = replace(LADDER, inputs=replace(LADDER.inputs, trip=None))
    words = reading.text(made(sheet(ladder=bare), pictures=False))
    assert "Root-sum-square: open from 4.98 to 5.16 bar; no trip chosen." in words


def test_an_index_beyond_the_scale_and_a_flow_no_valve_holds_are_told_in_words():
    sizing = sheet().reducers[0]
    case = replace(sizing.cases[0], sigma_1=float("inf"), sigma_2=None, required_kv=float("inf"), travel=None)
    words = reading.text(made(sheet(reducers=(replace(sizing, cases=(case,)),)), pictures=False))
    assert "1.80 none holds – 0.2 > 100 –" in words


def test_a_window_that_is_not_known_is_not_given():
    known = replace(LADDER.worst_case, highest=None, width=None, verdict="not known")
    words = reading.text(
        made(sheet(ladder=replace(LADDER, worst_case=known, root_sum_square=known)), pictures=False)
    )
    assert "Worst case: window not known, from 5.05 bar up." in words


@pytest.mark.parametrize(("name", "units"), [*((name, METRIC) for name in NAMES), (NAMES[0], US)])
def test_each_example_station_gets_a_sheet_from_its_real_judgement(name, units):
    about = station(name)
    paper = made(judge(about), about, units=units)
    found = reading.pages(paper)
    assert 5 <= len(found) <= 14
    assert about.station.name in found[0]
    assert all(reading.alternatives(paper))
    assert reading.tags(paper)["/H1"] == 1


def test_the_same_sheet_gives_the_same_bytes_and_carries_its_record():
    content = b'{"format":"x"}'
    first, again = (
        made(sheet(), files=[Attachment("design.json", content, "design sheet")]) for _ in range(2)
    )
    assert first == again
    assert reading.opened(first).attachments["design.json"] == [content]


@pytest.mark.parametrize("name", ["#import", "] $ @", "W" * 200, "中文", "\\*_`"])
def test_no_name_spoils_the_sheet(name):
    spur = replace(LADDER.components[0], component=name, source=name)
    judged = sheet(
        ladder=replace(
            LADDER, components=(spur,), weakest_fault=spur, weakest_normal=spur, not_covered=(name,)
        ),
        findings=(replace(NOTE, params={"component": name}, subject=name),),
    )
    assert made(judged, station(name=name, zone=name, owner=name)).startswith(b"%PDF")
