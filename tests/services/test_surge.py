"""Asking for a surge run: data, words, table and picture, and what is refused."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace

import pytest

from steadyhead.cli.app import run
from steadyhead.cli.surge_text import surge_text
from steadyhead.design.protection import prove_station
from steadyhead.errors import InputError, InputErrors
from steadyhead.findings import Severity
from steadyhead.records.surge import SurgeLimit
from steadyhead.services.studies.surge_words import run_words
from steadyhead.services.surge import how_bad, only_run, run_surge, surge_csv, surge_data
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.surge.doubts import _limits
from steadyhead.surge.events import EVENTS
from steadyhead.units import METRIC, US
from tests.surge.files import text
from tests.there import there

pytestmark = pytest.mark.by_turns(4)

ZONE = load(text()).station.zone
CREDITED = text(events="credited: [{failure: reducer fails open, within: 5 s, at: night flow}]\n")
EVENT = "events: [{id: pump, what: the pump stops, stops: 20 m³/h, within: 1 s}]\n"


@pytest.fixture(scope="module")
def stuck():
    return run_surge(text(), event="pilot-stuck")


def test_the_data_holds_numbers_and_no_trace(stuck):
    data = json.loads(json.dumps(surge_data(stuck), allow_nan=False))
    (one,) = data["runs"]
    assert one["shut_offs"][0]["trip_s"] > one["event_at_s"]
    assert one["supply_main"]["highest_pa"] > one["supply_main"]["lowest_pa"]
    assert not data["inside_limits"]
    assert not data["forbids"]  # nobody credits it
    assert "trace" not in one
    assert {finding["code"] for finding in data["findings"]} >= {"SUR-14", "SUR-01"}


ASKED = examples.read("quillenby-row").replace(
    b"fault: 9 bar, normal: 9 bar", b"fault: 8.35 bar, normal: 8 bar"
)
"""Its weakest component bears the rise until the shut-off is shut, and not what three mains throw back."""


@pytest.fixture(scope="module")
def thrown_back():
    return run_surge(ASKED, event="fails-open", within="2 min")


def test_a_wave_thrown_back_is_asked_about_as_in_the_proof_and_not_forbidden(thrown_back):
    (one,) = [limit for limit in thrown_back.worst.limits if limit.is_rebound_over]
    assert one.peak_at_datum < one.limit_at_datum < one.rebound_at_datum
    assert one.rebound_least_at_datum < one.limit_at_datum
    assert one.margin == pytest.approx(one.limit_at_datum - one.rebound_at_datum)
    (told,) = thrown_back.findings
    assert (told.code, told.severity) == ("SUR-27", Severity.ASK)
    assert not thrown_back.is_inside
    said = " ".join(surge_text(thrown_back, METRIC).split())
    assert "an open question" in said
    assert "thrown back over it" in " ".join(surge_text(thrown_back, METRIC, is_overview=True).split())


def test_the_proof_asks_the_same_of_the_same_failure():
    # Run at the upper edge of the trip all is higher by as much.
    station = load(ASKED.replace(b"fault: 8.35 bar", b"fault: 8.6 bar")).station
    case = next(
        case
        for case in there(prove_station(station)).ways[0].cases
        if case.failure.credited and (case.inlet, case.flow, case.closing) == ("static", "night", "slow")
    )
    peak = there(case.peak("consumer"))
    assert peak.is_rebound_over
    assert there(peak.rebound_least) < there(peak.limit)


def test_an_answer_in_the_file_settles_what_is_asked(thrown_back):
    (asked,) = thrown_back.findings
    answer = (
        f'answers:\n  - {{to: SUR-27, at: "{asked.subject}", value: "{asked.value_hash}", '
        'answer: "logged on 3 May, 5.5 bar", by: "Ilse Marrow"}\n'
    )
    settled = ASKED.replace(b"answers:\n", answer.encode())
    again = run_surge(settled, event="fails-open", within="2 min")
    assert [one.severity for one in again.findings] == [Severity.NOTE]
    assert again.is_inside


@pytest.mark.parametrize(
    ("least", "is_sure"), [(5.0e5, False), (6.1e5, True), (None, True)], ids=["one end", "both", "no band"]
)
def test_a_wave_thrown_back_is_sure_where_it_passes_at_both_ends_of_the_band(least, is_sure):
    one = SurgeLimit("spur", "consumer", 0.0, 6e5, 5.5e5, 4e5, "inside", 6.5e5, least)
    assert one.is_rebound_over
    assert one.is_rebound_sure is is_sure
    assert not replace(one, verdict="over", peak_at_datum=6.2e5).is_rebound_over
    assert not replace(one, rebound_at_datum=None).is_rebound_over


@pytest.mark.parametrize("hunts", [False, True])
def test_a_sure_one_forbids_unless_a_loop_that_nobody_calibrated_hunts(thrown_back, hunts):
    run_ = thrown_back.worst
    sure = tuple(replace(one, rebound_least_at_datum=9e5, rebound_at_datum=9.1e5) for one in run_.limits[:1])
    told = [one for one in _limits(replace(run_, limits=sure), ZONE, hunts=hunts) if one.code == "SUR-27"]
    assert [one.severity for one in told] == [Severity.HEED if hunts else Severity.STOP]


def test_a_fall_ahead_of_a_shut_valve_ends_judging_there_alone():
    said = " ".join(
        run_words(
            replace(
                run_surge(ASKED, event="fails-open", within="2 min").worst, fell_in=30.0, fallen=("supply",)
            ),
            METRIC,
        ).split()
    )
    assert "judging ends ahead of the shut-off" in said


def test_the_words_name_event_times_and_limit_in_the_units_of_the_reader(stuck):
    metric, us = surge_text(stuck, METRIC), surge_text(stuck, US)
    assert "the pilot of RV sticks open" in " ".join(metric.split())
    assert "SO trips" in metric
    assert "distribution pipes" in metric
    assert " bar" in metric
    assert " psi" in us
    assert "nan" not in metric


def test_the_table_has_the_highest_pressure_in_the_units_of_its_heading(stuck):
    shown = only_run(stuck, "--csv")
    rows = list(csv.DictReader(io.StringIO(surge_csv(shown, METRIC))))
    column = [float(row["T3 [bar at datum]"]) for row in rows]
    assert max(column) == pytest.approx(max(shown.trace.pressures["T3"]) / 1e5, rel=1e-4)
    assert len(rows) == len(shown.trace.time)
    assert "T3 [psi at datum]" in surge_csv(shown, US)
    judged = [row["judged"] for row in rows]
    fell_in = shown.fell_in
    wanted = ["no" if fell_in is not None and time > fell_in else "yes" for time in shown.trace.time]
    assert judged == wanted


def test_the_worst_of_four_restarts_is_the_verdict_of_the_event():
    answer = run_surge(text(), event="restart")
    assert len(answer.runs) == 4
    ((worst, *others),) = answer.events
    assert worst is answer.worst
    assert all(how_bad(worst) >= how_bad(other) for other in others)
    told = " ".join(surge_text(answer, METRIC).split())
    assert told.count("It begins at") == 1
    assert "worst of 4 runs" in told
    assert all(one.event in told for one in answer.runs)
    assert "full of water" in told
    data = surge_data(answer)
    assert data["events"] == [{"event": "restart", "way": "", "verdict_of": worst.event}]


def test_the_overview_has_one_line_for_each_event_and_each_finding_once():
    answer = run_surge(text(events=EVENT), event="")
    told = surge_text(answer, METRIC, is_overview=True)
    for name in (*EVENTS, "pump"):
        assert sum(line.startswith(f"  {name}") for line in told.splitlines()) == 1, name
    assert "restart ×4" in told
    codes = [(one.code, one.subject, one.severity) for one in answer.findings if one.code != "SUR-17"]
    assert len(codes) == len(set(codes))
    assert all(len(line) <= 100 for line in told.splitlines())


def test_an_event_of_the_file_says_what_it_takes_to_trip():
    answer = run_surge(text(events=EVENT), event="pump")
    told = " ".join(surge_text(answer, METRIC).split())
    assert "the pump stops: 20 m³/h less are drawn within 1 s" in told
    assert "trip" in told
    (run,) = surge_data(answer)["runs"]
    assert run["of"] == "pump"
    assert run["smallest_that_trips"]["change_m3_s"] == pytest.approx(-20.0 / 3600.0)


def test_progress_runs_from_nought_to_all_and_names_what_runs():
    told = []
    run_surge(text(), event="supply-falls", progress=lambda *now: told.append(now))
    shares = [done / total for done, total, _ in told]
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0, abs=0.05)
    assert told[-1][2] == "supply-falls"


def test_what_is_finished_is_kept_when_somebody_stops_the_work():
    seen = []

    def cancel():
        return "restart-shut-failed" in seen

    def progress(done, total, what):
        seen.append(what)

    answer = run_surge(text(), event="restart", progress=progress, cancel=cancel)
    assert [run.event for run in answer.runs] == ["restart-shut-sound"]
    assert answer.left_out == ("restart-shut-failed", "restart-open-sound", "restart-open-failed")
    assert surge_data(answer)["not_run"] == list(answer.left_out)


def test_the_command_writes_table_and_picture_and_tells_by_its_status_that_a_limit_is_passed(
    tmp_path, capsys
):
    station, table, picture = (tmp_path / name for name in ("s.yaml", "s.csv", "s.svg"))
    station.write_bytes(CREDITED)
    words = ["surge", str(station), "--event", "fails-open", "--csv", str(table), "--svg", str(picture)]
    assert run(words) == 1
    assert table.read_text(encoding="utf-8").startswith("time [s],T0 [bar at datum]")
    assert "Surge trace" in picture.read_text(encoding="utf-8")
    assert run(["surge", str(station), "--event", "supply-rises", "--json"]) == 0
    out = capsys.readouterr().out
    assert '"format": "steadyhead/surge/1"' in out


@pytest.mark.parametrize(
    "words",
    [
        ["--event", "asteroid"],
        ["--way", "north"],
        ["--within", "soon"],
        ["--within", "0 s"],
        ["--event", "fails-open", "--within", "1e9 s"],
    ],
)
def test_what_nobody_knows_is_refused(words, tmp_path):
    station = tmp_path / "s.yaml"
    station.write_bytes(text())
    assert run(["surge", str(station), *words]) == 2


def test_a_table_of_several_events_is_refused(stuck):
    other = run_surge(text(), event="diaphragm-torn")
    both = type(stuck)(stuck.loaded, (*stuck.runs, *other.runs), ())
    with pytest.raises(InputError, match="--event"):
        only_run(both, "--csv")


def test_an_event_the_station_cannot_have_is_refused():
    source = text().replace(b"part: shut_off", b"part: nothing_known")
    with pytest.raises((InputError, InputErrors)):
        run_surge(source, event="restart")


def test_a_run_that_is_stopped_at_once_leaves_nothing():
    answer = run_surge(text(), event="pilot-stuck", cancel=lambda: True)
    assert answer.runs == ()
    assert answer.left_out == ("pilot-stuck",)


def test_the_command_ends_with_130_where_it_is_stopped(monkeypatch, tmp_path, capsys):
    station = tmp_path / "s.yaml"
    station.write_bytes(text())
    monkeypatch.setattr("steadyhead.cli.progress.Shown.cancel", lambda self: True)
    assert run(["surge", str(station), "--event", "restart"]) == 130
    assert "nothing is finished" in capsys.readouterr().err
    seen = []
    monkeypatch.setattr("steadyhead.cli.progress.Shown.cancel", lambda self: "restart-open-sound" in seen)
    monkeypatch.setattr("steadyhead.cli.progress.Shown.__call__", lambda self, a, b, what: seen.append(what))
    assert run(["surge", str(station), "--event", "restart"]) == 130
    told = capsys.readouterr()
    assert "restart-shut-sound" in told.out
    assert "not run: restart-open-sound" in told.err
