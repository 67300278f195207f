"""A limit that a measure will meet brings its work forward, with the days it may be; whose limit it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from steadyhead.records.baseline import Baseline, Fitted
from steadyhead.register import open_register
from steadyhead.services.logs import judging
from steadyhead.services.logs.known import BAR, strainer_limit
from steadyhead.services.logs.limits import _held
from steadyhead.services.logs.measuring import _views
from steadyhead.services.logs.page import judged_page
from steadyhead.services.stations.face import face
from steadyhead.services.stations.judged import today
from steadyhead.services.stations.saving import save
from steadyhead.services.upkeep import doings
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.upkeep.days import told as day_words
from steadyhead.watch.measures import strainer_trend
from steadyhead.web.app import make_app
from tests.services.logs.test_crossed import BOUNDS, KEY, UNTIL, WHO, strainer, told, view
from tests.watch.measures.test_strainer_forecast import day, growing, made
from tests.web.filled import Client

__all__ = ["day"]


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    register = open_register(tmp_path_factory.mktemp("foreseen") / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    doings.into_service(register, KEY, WHO, on=f"{today() - timedelta(days=90)}")
    yield register
    register.close()


def ahead(days: int, ratio: float = 1.5, **given):
    """Return a strainer that meets its limit in so many days, five earlier or ten later."""
    one = strainer(ratio, **given)
    dates = {
        name: f"{today() + timedelta(days=days + off)}T12:00:00Z"
        for name, off in (("earliest", -5), ("meets", 0), ("latest", 10))
    }
    return one.model_copy(update={"details": one.details | dates})


def test_a_limit_to_be_met_brings_the_work_forward_to_the_earliest_day_and_says_all_three(kept):
    _, line = told(kept)
    by_interval = line.was
    made_one = judging.keep_judgement(kept, view(ahead(60)), WHO)
    needs, line = told(kept)
    assert needs == []  # nothing is crossed yet
    assert line.on == f"{today() + timedelta(days=55)}"
    meets, first, last = (day_words(today() + timedelta(days=n)) for n in (60, 55, 70))
    assert f"loggers say that it meets its limit about {meets}, between {first} and {last}" in line.why
    assert "limit 2 × (common practice)" in line.why
    assert "of data until" in line.why
    assert line.evidence.startswith(f"/stations/{KEY}/logs/rows?channel=outlet")
    (held,) = judged_page(kept, KEY, made_one.id).held
    assert (held.crossed, held.meets[:10]) == (False, f"{today() + timedelta(days=60)}")
    ((words, rows),) = face(kept, KEY)[0].foreseen
    assert words in f"{line.why[0].lower()}{line.why[1:]}"
    assert rows == line.evidence
    client = Client(make_app(kept))
    assert "Meets it about" in client.get(f"/stations/{KEY}/logs/judged/{made_one.id}").text
    assert "loggers say that it meets its limit" in client.get(f"/stations/{KEY}").text
    judging.keep_judgement(kept, view(ahead(2)), WHO)
    assert told(kept)[1].on == f"{today()}"  # it may be now, and is not overdue
    judging.keep_judgement(kept, view(ahead(600)), WHO)  # further than is planned
    assert told(kept)[1].on == by_interval
    judging.keep_judgement(kept, view(ahead(40)), WHO)
    doings.done(kept, KEY, WHO, activity="strainer_clean", place=line.place, on=f"{UNTIL}", found="some")
    _, line = told(kept)
    assert "Last cleaning" in line.why
    assert line.evidence == ""
    later_data = UNTIL + timedelta(days=1)
    judging.keep_judgement(kept, view(ahead(30), until=later_data), WHO)
    assert told(kept)[1].on == f"{today() + timedelta(days=25)}"
    judging.keep_judgement(kept, view(strainer(1.1), until=later_data + timedelta(days=1)), WHO)
    assert "Last cleaning" in told(kept)[1].why
    assert face(kept, KEY)[0].foreseen == ()


@pytest.mark.parametrize(("confidence", "is_told"), [("good", True), ("fair", False)])
def test_a_day_is_told_from_gauges_on_both_sides_of_the_strainer_only(confidence, is_told):
    one = ahead(60).model_copy(update={"confidence": confidence})
    (held,) = _held(view(one), BOUNDS)
    assert ("meets" in held, held["crossed"]) == (is_told, False)


def test_a_poor_measure_and_one_without_a_last_day_foresee_nothing(kept):
    one = ahead(30)
    open_end = one.model_copy(update={"details": one.details | {"latest": None}})
    (held,) = _held(view(open_end), BOUNDS)
    assert "meets" not in held
    assert list(_held(view(ahead(30, confidence="poor")), BOUNDS)) == []
    (crossed,) = _held(view(ahead(30, ratio=2.6)), BOUNDS)
    assert crossed["crossed"]
    assert "meets" not in crossed


def test_the_days_of_a_measure_are_those_that_are_held(day):
    got = strainer_trend(made(day, 4, growing(60, 0.012, clean=20)), own=True)
    now, trend = _views(got)
    assert now.details["limit"] == got.limit
    (held,) = _held(view(now, trend), BOUNDS)
    assert got.meets is not None
    assert held["meets"] == f"{got.meets:%Y-%m-%d}"
    assert held["earliest"] <= held["meets"] <= held["latest"]
    assert held["source"].startswith("common practice")


STATED = read("dunmarrow-bottom").decode().replace("DN 100, mesh", "DN 100, kv_clean: Kv 36, mesh")


def test_the_limit_is_that_of_the_baseline_else_of_the_file_else_none_is_stated(day):
    assert strainer_limit(load(read("dunmarrow-bottom")).station) is None
    station = load(STATED).station
    of_file = strainer_limit(station)
    assert of_file is not None
    assert of_file.source == "station file"
    clean = BAR / (36.0 / 3600.0) ** 2
    assert 2.0 * clean < of_file.value < 2.1 * clean  # the open valve beside it keeps its loss
    fitted = Fitted("ST", "kv_clean", "flow coefficient", 30.0, 1.0, 36.0, "station file", (), (), (), 4)
    baseline = Baseline("b", "s", "", "r", "", "2027-04-14T10:00:00+02:00", "", (fitted,))
    of_visit = strainer_limit(station, baseline)
    assert of_visit is not None
    assert of_visit.source == f"baseline of {day_words(date(2027, 4, 14))}"
    beside = of_file.value - 2.0 * clean
    assert of_visit.value == pytest.approx(2.0 * BAR / (30.0 / 3600.0) ** 2 + beside)
    assert strainer_limit(station, replace(baseline, fitted=())) == of_file
    shares = of_file.value / 1e9 * np.linspace(0.5, 0.9, 40)
    now, _ = _views(strainer_trend(made(day, 5, shares), of_file, own=True))
    (held,) = _held(view(now), BOUNDS)
    assert held["source"] == "station file"
    assert "% of that at which it is opened" in held["words"]
    assert not held["crossed"]
    assert held["meets"]
