"""Studies as they are kept: nothing is lost in columns, cases are gone on with, a proof reaches the sheet."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from sqlalchemy.exc import OperationalError

from steadyhead.errors import InputError
from steadyhead.records.surge import SurgeRun
from steadyhead.register import Register
from steadyhead.services.jobs.asking import ask
from steadyhead.services.jobs.parts import Parts
from steadyhead.services.jobs.views import job_view
from steadyhead.services.jobs.working import Queue
from steadyhead.services.stations.head import station_head
from steadyhead.services.stations.judged import judged_view, today
from steadyhead.services.stations.kept import head_file
from steadyhead.services.stations.saving import save
from steadyhead.services.stations.summary import Summary, summary_in
from steadyhead.services.studies import capacity
from steadyhead.services.studies.chances_work import Bundles
from steadyhead.services.studies.columns import pack, unpack
from steadyhead.services.studies.kept import proof_in
from steadyhead.services.studies.page import study_view, surge_page
from steadyhead.services.studies.proof import ProofView
from steadyhead.services.surge import run_surge
from steadyhead.station.examples import read
from steadyhead.surge.ensemble import Figures
from steadyhead.units import say_window

NAME, KEY = "dunmarrow-bottom", "DMB-01"


@pytest.fixture(scope="module")
def runs() -> tuple[SurgeRun, ...]:
    return run_surge(read(NAME), event="inlet-valve-closed").runs


def test_a_run_kept_in_columns_is_the_same_run(runs: tuple[SurgeRun, ...]) -> None:
    plain, columns = pack(runs)
    assert len(json.dumps(plain[0])) < 10_000, "traces do not go into JSON"
    found = unpack(json.loads(json.dumps(plain)), columns)
    for one, other in zip(found, runs, strict=True):
        assert one.trace.time == other.trace.time
        assert replace(one, trace=other.trace, profiles=other.profiles) == other
        for name, values in other.trace.pressures.items():
            assert one.trace.pressures[name] == pytest.approx(values, rel=1e-6)
        assert [p.distance for p in one.profiles] == [p.distance for p in other.profiles]
    assert unpack(plain, columns, 1)[0].event == runs[1].event
    with pytest.raises(InputError, match="not those of its runs"):
        unpack([*plain, plain[0]], columns)


def test_runs_that_are_there_already_are_not_made_again(runs: tuple[SurgeRun, ...]) -> None:
    known = {run.event: run for run in runs[:1]}
    kept: list[str] = []
    answer = run_surge(
        read(NAME),
        event="inlet-valve-closed",
        finished=known.get,
        keep=lambda label, run: kept.append(label),
    )
    assert kept == [run.event for run in runs[1:]]
    assert [run.event for run in answer.runs] == [run.event for run in runs]
    assert answer.runs[0] is runs[0]


def test_finished_runs_of_chances_are_kept_in_bundles(register: Register) -> None:
    save(register, read(NAME), "a")
    parts = Parts(register, KEY, "a key")
    bundles = Bundles(parts)
    figures = Figures((1.0, 2.0), (1.0, 2.5), (0.5, 0.25), float("nan"), 3.0, False)
    for place in range(70):
        bundles.add(place, figures if place else None)
    bundles.flush()
    other = Parts(register, KEY, "a key")
    assert other.load() == 2
    again = Bundles(other)
    assert (len(again.finished), again.finished[0]) == (70, None)
    assert repr(again.finished[3]) == repr(figures)
    again.add(70, figures)
    again.flush()
    third = Parts(register, KEY, "a key")
    assert third.load() == 3
    third.clear()
    assert Parts(register, KEY, "a key").load() == 0


def assert_life_line_is_that_of_the_sheet(
    register: Register, summary: Summary, stacking: dict[str, float]
) -> None:
    """The window of the life line is the proved one, and does not say otherwise."""
    assert summary.window == pytest.approx((stacking["lowest_pa"], stacking["highest_pa"]))
    with register.reading() as connection:
        fact = station_head(connection, register, KEY).life["pressures"].fact
    assert ("not proved" in fact) is not summary.is_proved
    edges = say_window(*summary.window, (), "pressure")[0] if summary.window else ""
    assert summary.is_proved is (summary.peaks[2] == 0), "a cover that is not known leaves it open"
    assert edges in fact or "empty" in fact


def test_a_finished_proof_feeds_the_judged_sheet_the_list_and_the_window(register: Register) -> None:
    save(register, read(NAME), "Ilse Marrow")
    before = json.loads(judged_view(register, KEY))
    codes = {one["code"] for one in before["findings"]}
    job = ask(register, KEY, "proof", {}, "Ilse Marrow")
    assert Queue(register, "a worker", "studies").once()
    assert job_view(register, job.id).state == "done", job_view(register, job.id).problem
    head = head_file(register, KEY)
    assert head.proof
    with register.reading() as connection:
        proof = proof_in(connection, KEY, head.file_hash)
        summary = summary_in(connection, KEY, head.file_hash, lambda: head.source, today())
    assert proof is not None
    after = json.loads(judged_view(register, KEY))
    assert after["sheet"]["protection"]
    assert not before["sheet"]["protection"]
    new = {one["code"] for one in after["findings"]} - codes
    assert any(code.startswith("SUR-") for code in new), "what the proof found stands on the sheet"
    assert summary.peaks[0] > 0
    assert_life_line_is_that_of_the_sheet(register, summary, after["sheet"]["ladder"]["worst_case"])
    page = surge_page(register, KEY)
    assert page.proof is not None
    assert page.windows
    assert "as it is 7.0 s" in page.windows[0]
    view = study_view(register, KEY, page.proof.id)
    assert isinstance(view, ProofView)
    assert view.is_proved == (page.proof.mark == "holds")
    assert {row.side for row in view.ways[0].rows} >= {"Consumers", "Supply main"}
    save(register, read(NAME).replace(b"name: Dunmarrow Bottom", b"name: Dunmarrow Top", 1), "b", key=KEY)
    assert not head_file(register, KEY).proof, "a proof is of one file"
    assert "revision 1" in (surge_page(register, KEY).proof or page.proof).age


def test_maps_are_shown_where_no_room_is_left_to_ask_for_them(
    register: Register, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OperationalError("INSERT", {}, Exception("database or disk is full"))

    save(register, read(NAME), "a")
    monkeypatch.setattr(capacity, "ask", full)
    monkeypatch.setattr(capacity, "is_prepared", lambda *_: False)
    monkeypatch.setattr(capacity, "_maps", lambda *_: {"maps": [], "problem": ""})
    assert capacity.capacity_view(register, KEY).state in ("ready", "none")
