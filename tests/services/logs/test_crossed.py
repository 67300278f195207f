"""A measure over its limit is told on the station, in the lists, in what is due and in the next plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from steadyhead.register import open_register
from steadyhead.services.logs import crossed as crossed_module
from steadyhead.services.logs import judging
from steadyhead.services.logs.crossed import crossed_in
from steadyhead.services.logs.judged import KIND, JudgedView
from steadyhead.services.logs.known import Bounds
from steadyhead.services.logs.limits import LIMITS, _held
from steadyhead.services.logs.measuring import FromRows, MeasureView
from steadyhead.services.planning import make_plan
from steadyhead.services.stations.face import face
from steadyhead.services.stations.judged import today
from steadyhead.services.stations.kept import head_file
from steadyhead.services.stations.listing import listed
from steadyhead.services.stations.saving import save
from steadyhead.services.stations.situation import situation
from steadyhead.services.upkeep import doings
from steadyhead.services.upkeep.next_due import NextDue
from steadyhead.services.upkeep.of_station import of_station
from steadyhead.services.visits_kept import plans
from steadyhead.services.visits_kept.plans import _with_crossed, make, plan_content
from steadyhead.services.visits_kept.standing import Standing
from steadyhead.station.examples import read
from steadyhead.upkeep.days import told as day_words
from steadyhead.visits.texts.saying import say
from steadyhead.watch.measures.strainer import clean_of

KEY, WHO = "DMB-01", "Ilse Marrow"
UNTIL = today() - timedelta(days=3)


def measure(code, value, *, low=None, details=None, confidence="good"):
    rows = (
        FromRows(channel="outlet pressure, spot", start="2027-01-01T00:00:00Z", end="2027-02-01T00:00:00Z"),
    )
    return MeasureView(
        code=code, value=value, unit="", low=low, high=None, start="2027-01-01T00:00:00Z",
        end="2027-02-01T00:00:00Z", n_valid=9, n_total=9, channels=(), assumptions=(), confidence=confidence,
        words="x", rows=rows, details=details or {},
    )  # fmt: skip


def strainer(ratio, **given):
    days = [["2027-01-01T12:00:00Z", 1e9, 1e7]] * 6
    return measure(
        "strainer coefficient", ratio * 1e9, low=(ratio - 0.05) * 1e9, details={"by_day": days}, **given
    )


def view(*measures, until=UNTIL):
    return JudgedView(
        station=KEY, start="", end="", first="2026-01-01T00:00:00Z", last=f"{until}T06:00:00Z", channels=(),
        judged=(), imports=(), standings=(), episodes=(), happenings=(), not_seen=(), measures=measures,
        not_measured=(), words="x",
    )  # fmt: skip


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    register = open_register(tmp_path_factory.mktemp("crossed") / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    doings.into_service(register, KEY, WHO, on=f"{today() - timedelta(days=90)}")
    yield register
    register.close()


def told(register):
    """Return what the station's page says of loggers, and the line of upkeep on its strainer."""
    shown, _ = face(register, KEY)
    needs = [one for one in shown.needs if "/logs/judged/" in one.href]
    lines = [one.due for group in of_station(register, KEY).groups for one in group.lines]
    return needs, next(one for one in lines if one.activity == "strainer_clean")


def test_what_crosses_a_limit_is_told_everywhere_and_goes_when_it_is_seen_to(kept):
    made = judging.keep_judgement(kept, view(strainer(2.4)), WHO)
    needs, line = told(kept)
    (need,) = needs
    assert need.words == "strainer coefficient 2.4 × that of its cleanest days"
    assert need.because.startswith("the limit is 2 × ")
    assert "common practice" in need.because
    assert "as judged on" in need.because
    assert "of data until" in need.because
    assert need.href == f"/stations/{KEY}/logs/judged/{made.id}"
    assert line.why.startswith("Strainer coefficient 2.4 ×")
    assert line.on == today().isoformat()
    assert line.evidence.startswith(f"/stations/{KEY}/logs/rows?channel=outlet")
    page, _ = listed(kept, show="all")
    row = next(one for one in page.rows if one.key == KEY)
    found = "strainer coefficient 2.4" in row.worst
    assert found or row.weight > 42  # what is more serious comes first
    assert listed(kept, q="strainer coefficient 2.4")[0].total == 1
    plan = make(kept, KEY, "yearly", "", WHO, with_paper=False)
    assert b"note.crossed" in plan_content(kept, KEY, plan.record.id)[1]
    put_off = doings.defer(
        kept, KEY, WHO, activity="strainer_clean", place=line.place, until=f"{today() + timedelta(days=20)}",
        reason="parts ordered", risk="less inlet at peak", measure="read it weekly", approver="A. Field",
    )  # fmt: skip
    needs, line = told(kept)
    assert needs == []
    assert "deferred" in line.state
    doings.strike(kept, KEY, WHO, line=put_off.id, reason="parts came")
    assert len(told(kept)[0]) == 1
    judging.keep_judgement(kept, view(strainer(2.6), until=UNTIL + timedelta(days=1)), WHO)
    day = f"{UNTIL + timedelta(days=1)}"
    doings.done(kept, KEY, WHO, activity="strainer_clean", place=line.place, on=day, found="some")
    needs, line = told(kept)
    assert needs == []
    assert "Last cleaning" in line.why
    judging.keep_judgement(kept, view(strainer(2.2), until=UNTIL + timedelta(days=2)), WHO)
    assert len(told(kept)[0]) == 1
    judging.keep_judgement(kept, view(strainer(1.1), until=UNTIL + timedelta(days=3)), WHO)
    needs, line = told(kept)
    assert needs == []
    assert line.evidence == ""


def test_a_poor_or_older_judgement_takes_nothing_back(kept):
    judging.keep_judgement(kept, view(strainer(3.0), until=UNTIL + timedelta(days=3)), WHO)
    judging.keep_judgement(kept, view(strainer(1.0), until=UNTIL), WHO)
    judging.keep_judgement(kept, view(strainer(1.0, confidence="poor"), until=UNTIL + timedelta(days=4)), WHO)
    with kept.reading() as connection:
        (one,) = crossed_in(connection, KEY)
    assert one.words.startswith("strainer coefficient 3.0")
    assert one.until == UNTIL + timedelta(days=3)
    assert crossed_module.KIND == KIND


BOUNDS = Bounds(low=3e5, high=4.5e5, trip=5e5, cavitation=(1.5, "damage"), shut_off=1e8)


@pytest.mark.parametrize(
    ("given", "crossed"),
    [
        (measure("time in band", 0.97), True),
        (measure("time in band", 0.99), False),
        (measure("outlet at the lowest flow", 4.6e5), True),
        (measure("outlet at the lowest flow", 4.4e5), False),
        (measure("hunting", 6e4, details={"period": 11.0, "days": 9, "of_days": 30}), True),
        (measure("hunting", 1e4, details={"period": None}), False),
        (measure("resistance of the shut-off", 1.9e8, low=1.7e8), True),
        (measure("resistance of the shut-off", 1.9e8, low=1.2e8), False),
        (measure("margin to the trip", -1e4), True),
        (measure("margin to the trip", 2e4), False),
        (measure("time below the cavitation limit", 9e5, details={"share": 0.2}), True),
        (measure("time below the cavitation limit", 9e5, details={"share": 0.02}), False),
    ],
)
def test_each_measure_is_held_against_a_limit_that_names_whose_it_is(given, crossed):
    (one,) = _held(view(given), BOUNDS)
    assert one["crossed"] is crossed
    assert one["words"]
    assert one["source"].startswith(("station file", "common practice", "own estimate"))
    assert (one["channel"], one["since"]) == ("outlet pressure, spot", "2027-01-01T00:00:00Z")
    assert list(_held(view(given), Bounds())) == [] or "file" not in one["source"]
    assert all(limit.source for limit in LIMITS)


@pytest.mark.parametrize(
    ("limit", "clause"),
    [
        ("limit 0.07 bar of lasting swing", "the limit is 0.07 bar of lasting swing"),
        ("limit: no lasting swing of 0.07 bar", "the limit is no lasting swing of 0.07 bar"),  # kept before
        ("limit 98 %", "the limit is 98 %"),
        ("highest normal 4.5 bar", "the highest normal is 4.5 bar"),
        ("lower edge of the trip 5 bar", "the lower edge of the trip is 5 bar"),
    ],
)
def test_what_stands_behind_because_is_a_sentence(limit, clause):
    one = crossed_module.Crossed("hunting", "x", "words", limit, "own estimate: x", today(), UNTIL, "r", "/")
    assert one.because.startswith(f"{clause} (own estimate); as judged on ")
    assert one.against.startswith(f"{limit} (own estimate); as judged on ")


def test_the_hunting_of_a_judgement_says_its_limit_and_the_borders_of_its_period():
    given = measure(
        "hunting", 6e4, details={"period": 11.4, "periods": [10.5, 12.5], "days": 9, "of_days": 30}
    )
    (one,) = _held(view(given), BOUNDS)
    assert one["limit"] == "limit 0.07 bar of lasting swing"
    assert "every 10.5 to 12.5 s, on 9 of 30 days" in one["words"]


def test_clean_is_the_cleanest_days_of_the_record():
    assert clean_of([["", k, 1.0] for k in (90, 80, 11, 10, 12, 10, 10, 40)]) == 10.0
    assert clean_of([["", 10.0, 1.0]] * 3) is None
    assert clean_of([["", 1.0, 1.0]] * 9) is None


def _over(kept):
    """Keep a judgement in which the strainer is over its limit, whichever tests went before."""
    judging.keep_judgement(kept, view(strainer(3.0), until=UNTIL + timedelta(days=3)), WHO)


def test_the_next_plan_names_it_first(kept):
    _over(kept)
    made = make_plan(head_file(kept, KEY).source, "yearly", KEY, today())
    with_it = _with_crossed(kept, KEY, made, today()).procedure
    assert made.procedure is not None
    assert with_it is not None
    assert with_it.id != made.procedure.id
    words = say(with_it.notes[0])
    assert words.startswith("Seen by loggers: strainer coefficient 3.0 ×")
    assert "of data until" in words
    assert "open and clean" in words


SAID = {
    "strainer coefficient": "strainer 2.4 × clean", "outlet at the lowest flow": "outlet 4.6 bar",
    "resistance of the shut-off": "resistance 1.8 × open", "hunting": "outlet swings",
    "droop over that as left": "droop 0.2 bar more",
    "rise at the lowest flow over that as left": "rise 0.2 bar more",
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "visit", "steps"),
    [
        (
            "dunmarrow-bottom", "yearly",
            {"strainer": ["Y5.ST"], "outlet": ["Y3"], "rise": ["Y3"], "resistance": ["Y4.SO"]},
        ),
        (
            "dunmarrow-bottom", "first",
            {
                "strainer": ["B4", "H4"], "outlet": ["H2.RV"], "rise": ["H2.RV"], "resistance": ["H4"],
                "droop": ["H4"],
            },
        ),
        (
            "tarnholt-quay", "yearly",
            {"strainer": ["Y9.ST"], "outlet": ["Y3.main", "Y3.low"], "rise": ["Y3.main", "Y3.low"]},
        ),
    ],
)  # fmt: skip
def test_the_step_that_looks_at_the_same_thing_says_it_with_its_day(kept, monkeypatch, name, visit, steps):
    every = tuple(
        crossed_module.Crossed(code, "x", words, "limit 2 ×", "common practice: x", today(), UNTIL, "r", "/")
        for code, words in SAID.items()
    )
    monkeypatch.setattr(plans, "standing_in", lambda *_: every)
    made = make_plan(read(name), visit, name, today())
    with_it = _with_crossed(kept, KEY, made, today()).procedure
    assert made.procedure is not None
    assert with_it is not None
    found: dict[str, list[str]] = {}
    for before, node in zip(made.procedure.nodes, with_it.nodes, strict=True):
        added = node.do[: len(node.do) - len(before.do)]
        assert node == replace(before, do=(*added, *before.do))
        for message in added:
            words = say(message)
            assert words.startswith("Loggers say: ")
            assert f"as judged on {day_words(today())} of data until {day_words(UNTIL)}" in words
            found.setdefault(words.split()[2], []).append(node.id)
    assert found == steps
    assert len(with_it.notes) == len(made.procedure.notes) + len(SAID)


def test_it_is_the_worst_of_a_station_that_else_is_in_order(kept):
    _over(kept)
    with kept.reading() as connection:
        crossed = crossed_in(connection, KEY)
    proof = Standing("stands", "proved")
    day = today()
    due = NextDue(f"{day - timedelta(days=1)}", "cleaning", "x", 1, "strainer_clean", "ST")
    found = situation((), proof, due, day, prove="prove the trip", crossed=crossed)
    assert found.needs_somebody
    assert [one.words for one in found.needs] == [one.words for one in crossed]
