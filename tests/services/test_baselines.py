"""A baseline as a file: written and read again, and whatever else is called one."""

from __future__ import annotations

import json

import pytest

from steadyhead.errors import InputError
from steadyhead.findings import Severity
from steadyhead.findings.telling import tell
from steadyhead.services.measured import BEGINS, baseline_data, baseline_file, read_baseline
from steadyhead.visits.fitting.words import NEEDS, findings
from tests.visits.fitting.quernhollow import entries, fitted
from tests.visits.fitting.sites import Site


@pytest.fixture(scope="module")
def made():
    site = Site({"ST.kv_clean": 120.0, "SO.kv": 160.0, "RV.per_turn": 0.9e5}, 1)
    site.turns([0.5, 0.5, 0.5])
    site.lock_up()
    site.flow_test()
    return site.fit()


def test_a_file_is_read_back_as_it_was_written(made):
    content = baseline_file(made)
    assert content.startswith(BEGINS)
    assert read_baseline(content) == made
    assert baseline_file(read_baseline(content)) == content


def test_a_baseline_names_its_run_its_plan_and_its_last_reading(made):
    data = baseline_data(made)
    assert (data["format"], data["run"], data["plan_sha256"][:4]) == (
        "steadyhead/baseline/1",
        "run-1",
        "1111",
    )
    assert data["valid_from"].startswith("2027-04-14T")
    assert all(one["entries"] and one["steps"] for one in data["fitted"])


def _changed(made, change):
    data = json.loads(baseline_file(made))
    change(data)
    return json.dumps(data).encode()


@pytest.mark.parametrize(
    "change",
    [
        lambda data: data.update(format="steadyhead/baseline/2"),
        lambda data: data.pop("fitted"),
        lambda data: data["fitted"][0].update(value=-1.0),
        lambda data: data["fitted"][0].update(value="much"),
        lambda data: data["fitted"][0].update(kind="colour"),
        lambda data: data["fitted"][0].update(more=1),
        lambda data: data.update(station_id=7),
        lambda data: data["fitted"][0].update(state=[1]),
    ],
)
def test_a_file_that_does_not_hold_a_baseline_is_refused_with_a_remedy(made, change):
    with pytest.raises(InputError) as refused:
        read_baseline(_changed(made, change), "x.baseline.json")
    assert "run fit" in refused.value.remedy


@pytest.mark.parametrize("content", [b"", b"[]", b"{", b"\xff", b"7"])
def test_what_is_no_baseline_at_all_is_refused(content):
    with pytest.raises(InputError):
        read_baseline(content)


def test_what_is_open_is_told_with_the_reading_that_would_tell_it(made):
    told = {finding.subject + finding.code: tell(finding) for finding in findings(made)}
    assert "two trips" in told["SORUN-60"].cure.lower()
    assert all(finding.severity is not Severity.STOP for finding in findings(made))
    assert set(NEEDS) >= {one.needs for one in made.undetermined}


def test_a_reading_left_out_is_told_with_its_step_and_input():
    found = findings(fitted(entries({("T1", 5): 10.19})))
    (one,) = [tell(finding) for finding in found if finding.code == "RUN-63"]
    assert one.subject == "H4"
    assert "T1.5" in one.statement
    assert "10.19 bar" in one.statement


def test_a_measured_value_far_from_a_stated_one_is_told(made):
    codes = [finding.code for finding in findings(made)]
    assert "RUN-65" not in codes  # defaults may be far off, that is what they are for
    stated = made.value("ST.kv_clean")
    from dataclasses import replace

    far = replace(made, fitted=(replace(stated, former_from="stated: data sheet"),))
    assert "RUN-65" in [finding.code for finding in findings(far)]


def test_a_law_that_does_not_follow_is_told_as_such():
    assert "RUN-62" in [finding.code for finding in findings(fitted(entries()))]


def test_a_run_without_readings_determines_nothing_and_says_so():
    found = findings(Site({}, 2).fit())
    assert found[0].code == "RUN-67"
    assert {finding.code for finding in found[1:]} == {"RUN-60"}


def test_a_value_too_loose_is_told_with_its_interval():
    site = Site({"ST.kv_clean": 400.0, "SO.kv": 700.0}, 3)
    site.flow_test((0.4e-3, 1e-3, 1.5e-3, 2e-3, 2.5e-3))
    found = [tell(finding).statement for finding in findings(site.fit()) if finding.code == "RUN-61"]
    assert any("±" in words for words in found)


def test_swinging_readings_are_told_once_for_a_step():
    site = Site({}, 4)
    for number in (1, 2):
        swing = {"mean": 4e5, "peak_to_peak": 0.3e5, "period": 2.0}
        site.note("H4", f"T3.{number}", "pressure", 4e5, tap="T3", instrument="TG-1", swing=swing)
    (one,) = [tell(finding) for finding in findings(site.fit()) if finding.code == "RUN-64"]
    assert "T3.1, T3.2" in one.statement
