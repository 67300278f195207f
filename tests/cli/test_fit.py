"""From plan and entries to a baseline on the command line, and what the other commands make of it."""

from __future__ import annotations

import json

import pytest

from steadyhead.cli.app import run
from steadyhead.procedure.ledger import dump
from steadyhead.station.examples import read
from tests.visits.fitting.sites import Site

pytestmark = pytest.mark.by_turns(2)

TRUTH = {
    "ST.kv_clean": 120.0, "SO.kv": 160.0, "RV.per_turn": 0.9e5, "RV.lockup_rise": 0.33e5,
    "SO.closing_needle_kv": 1.4,
}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A station file, its plan, the entries of a run, and the baseline fitted to them."""
    place = tmp_path_factory.mktemp("fit")
    (place / "station.yaml").write_bytes(read("quillenby-row"))
    plan = ["plan", str(place / "station.yaml"), "--for", "first", "--without-proof"]
    assert run([*plan, "--save", str(place / "first.plan")]) in (0, 1)
    site = Site(TRUTH, 1)
    flows = (0.4e-3, 2e-3, 5e-3, 9e-3, 14e-3, 20e-3)
    site.entries.append(site.device.make("choice", {"choice": "E0.RV", "option": "set"}, "E0.RV"))
    site.turns([0.5, 0.5, 0.5])
    site.strokes()
    site.act("H1.RV", "tighten nut", "RV.nut")
    site.lock_up()
    site.flow_test(flows)
    (place / "entries.jsonl").write_bytes(dump(site.entries))
    assert fit(place, "--save", str(place / "run.baseline.json")) == 0
    return place


def fit(place, *more):
    files = [
        str(place / "first.plan"),
        str(place / "entries.jsonl"),
        "--station",
        str(place / "station.yaml"),
    ]
    return run(["run", "fit", *files, *more])


def test_a_fit_tells_each_value_with_its_interval_and_what_stood_there(folder, capsys):
    assert fit(folder, "--units", "metric") == 0
    words = " ".join(capsys.readouterr().out.split())
    assert "QUR-02: baseline of run run-1" in words
    assert "ST: flow coefficient with a clean element Kv 1" in words
    assert "±" in words
    assert "shuts in" in words
    assert "before Kv 675" in words
    assert "RUN-60" in words  # the shut-off's spring was not seen


def test_the_same_fit_in_other_units_and_as_data(folder, capsys):
    assert fit(folder, "--units", "us") == 0
    assert "psi" in capsys.readouterr().out
    assert fit(folder, "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert data["format"] == "steadyhead/fitted/1"
    assert {"ST.kv_clean"} <= {f"{one['part']}.{one['name']}" for one in data["baseline"]["fitted"]}


def test_check_judges_with_what_was_measured_and_why_says_so(folder, capsys):
    station, baseline = str(folder / "station.yaml"), str(folder / "run.baseline.json")
    run(["check", station, "--without-proof", "--json"])
    stated = capsys.readouterr().out
    run(["check", station, "--without-proof", "--json", "--baseline", baseline])
    measured = capsys.readouterr().out
    assert "measured: " in measured
    assert "measured: " not in stated
    codes = dict.fromkeys(one["code"] for one in json.loads(measured)["findings"])
    told = ""
    for code in codes:
        run(["why", station, code, "--without-proof", "--baseline", baseline])
        told += capsys.readouterr().out
    assert "measured: run run-1" in " ".join(told.split())


def test_a_plan_made_with_a_baseline_names_it(folder, capsys):
    station, baseline = str(folder / "station.yaml"), str(folder / "run.baseline.json")
    run(["plan", station, "--for", "yearly", "--without-proof", "--json", "--baseline", baseline])
    procedure = json.loads(capsys.readouterr().out)["procedure"]
    assert procedure["baseline_id"] == json.loads((folder / "run.baseline.json").read_bytes())["id"]


def test_the_card_is_written_with_a_baseline(folder, capsys):
    station, baseline = str(folder / "station.yaml"), str(folder / "run.baseline.json")
    assert run(["card", station, "--without-proof", "--json", "--baseline", baseline]) == 0
    assert json.loads(capsys.readouterr().out)["format"] == "steadyhead/card/1"


def test_surge_runs_with_a_baseline(folder, capsys):
    station, baseline = str(folder / "station.yaml"), str(folder / "run.baseline.json")
    asked = ["surge", station, "--event", "pilot-stuck", "--json"]
    run(asked)
    stated = json.loads(capsys.readouterr().out)
    run([*asked, "--baseline", baseline])
    measured = json.loads(capsys.readouterr().out)
    pick = [data["runs"][0]["shut_offs"][0]["closing_s"] for data in (stated, measured)]
    assert pick[0] != pick[1]


def test_another_version_of_the_file_is_told(folder, capsys):
    other = folder / "later.yaml"
    other.write_bytes(read("quillenby-row") + b"\n# looked at in May\n")
    run(["check", str(other), "--without-proof", "--baseline", str(folder / "run.baseline.json")])
    assert "another version of this station file" in " ".join(capsys.readouterr().err.split())
    files = [str(folder / "first.plan"), str(folder / "entries.jsonl"), "--station", str(other)]
    assert run(["run", "fit", *files]) == 0
    assert "RUN-66" in capsys.readouterr().out


def test_another_station_and_another_ending_are_refused(folder, capsys):
    other = folder / "other.yaml"
    other.write_bytes(read("pinnock-yard"))
    files = [str(folder / "first.plan"), str(folder / "entries.jsonl")]
    assert run(["run", "fit", *files, "--station", str(other)]) == 2
    assert "Name the file the plan was made from" in capsys.readouterr().err
    assert fit(folder, "--save", str(folder / "run.json")) == 2
    assert ".baseline.json" in capsys.readouterr().err


def test_what_a_later_run_leaves_open_keeps_the_baseline_before_it(folder, capsys):
    lines = (folder / "entries.jsonl").read_bytes().splitlines(keepends=True)
    (folder / "short.jsonl").write_bytes(b"".join(one for one in lines if b'"H4"' not in one))
    files = [
        str(folder / "first.plan"),
        str(folder / "short.jsonl"),
        "--station",
        str(folder / "station.yaml"),
    ]
    assert run(["run", "fit", *files, "--json", "--baseline", str(folder / "run.baseline.json")]) == 0
    open_ = {
        f"{o['part']}.{o['name']}": o for o in json.loads(capsys.readouterr().out)["baseline"]["undetermined"]
    }
    assert open_["ST.kv_clean"]["kept_from"].startswith("measured: run run-1")
