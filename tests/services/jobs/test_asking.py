"""A study is asked for once: the finished one at once, the one under way shared, a full queue refused."""

from __future__ import annotations

import pytest
from sqlalchemy import func, select

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.jobs import job_of
from steadyhead.register.tables import job
from steadyhead.services.jobs.asking import MOST_WAITING, ask, begin_again, stop
from steadyhead.services.jobs.running import Open, count_open
from steadyhead.services.jobs.views import job_view, jobs_view
from steadyhead.services.jobs.working import Queue
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.services.jobs.tried_work import Told

SPEC = {"event": "fails-open", "way": "", "within": ""}


def _worker(register: Register) -> Queue:
    return Queue(register, "a worker", "studies", every=0.01)


def test_the_same_study_asked_for_twice_is_one_job(register: Register, station: str) -> None:
    first = ask(register, station, "surge", SPEC, "a")
    second = ask(register, station, "surge", dict(reversed(SPEC.items())), "b")
    other = ask(register, station, "surge", SPEC | {"event": "opening"}, "b")
    assert (first.is_new, second.is_new, first.id == second.id) == (True, False, True)
    assert other.id != first.id
    with register.reading() as connection:
        assert connection.execute(select(func.count()).select_from(job)).scalar_one() == 2
        assert count_open(connection) == Open(at_work=0, waiting=2)


def test_a_finished_study_is_there_at_once(register: Register, station: str, quick: Told) -> None:
    asked = ask(register, station, "surge", SPEC, "a")
    assert _worker(register).once()
    again = ask(register, station, "surge", SPEC, "b")
    assert (again.state, again.is_new, again.study) == ("done", False, f"study-{asked.id}")
    assert not _worker(register).once()
    assert quick.done == ["case 0", "case 1", "case 2"]


def test_comments_of_a_file_change_no_result_and_values_do(
    register: Register, station: str, quick: Told
) -> None:
    ask(register, station, "surge", SPEC, "a")
    _worker(register).once()
    save(register, read("dunmarrow-bottom") + b"# looked at\n", "a", key=station)
    assert ask(register, station, "surge", SPEC, "a").state == "done"
    other = read("dunmarrow-bottom").replace(b"name: Dunmarrow Bottom", b"name: Dunmarrow Top", 1)
    save(register, other, "a", key=station)
    assert ask(register, station, "surge", SPEC, "a").state == "asked"


def test_a_full_queue_refuses_plainly_and_takes_again_once_one_is_stopped(
    register: Register, station: str
) -> None:
    most = MOST_WAITING["studies"]
    asked = [ask(register, station, "chances", {"seed": number}, "a") for number in range(most)]
    with pytest.raises(InputError, match="20 jobs wait already") as refused:
        ask(register, station, "surge", SPEC, "a")
    assert "stop those nobody needs" in refused.value.remedy
    assert not ask(register, station, "chances", {"seed": 3}, "b").is_new, "one that waits is no new one"
    assert stop(register, asked[0].id)
    assert ask(register, station, "surge", SPEC, "a").is_new


def test_a_stopped_study_can_be_asked_for_again(register: Register, station: str, quick: Told) -> None:
    asked = ask(register, station, "surge", SPEC, "a")
    assert stop(register, asked.id)
    assert not stop(register, asked.id), "it is over already"
    assert not _worker(register).once()
    assert job_view(register, asked.id).state_words == "stopped"
    assert ask(register, station, "surge", SPEC, "b").is_new
    assert _worker(register).once()
    found = job_view(register, asked.id)
    assert (found.state, found.asked_by, found.result_href) == (
        "done", "b", f"/stations/{station}/surge/study-{asked.id}",
    )  # fmt: skip


def test_a_job_that_was_stopped_is_begun_again_as_it_was_asked_for(
    register: Register, station: str, quick: Told
) -> None:
    asked = ask(register, station, "surge", SPEC, "a")
    assert not job_view(register, asked.id).can_begin_again, "it waits"
    assert stop(register, asked.id)
    assert job_view(register, asked.id).can_begin_again
    again = begin_again(register, asked.id, "b")
    assert (again.id, again.is_new) == (asked.id, True)
    assert _worker(register).once()
    assert begin_again(register, asked.id, "b").study, "it is finished: nothing is asked for"
    with pytest.raises(InputError, match="not known"):
        begin_again(register, "nobody", "b")


def test_nobody_knows_a_job_that_was_never_asked_for(register: Register, station: str) -> None:
    for of in (lambda: job_view(register, "nothing"), lambda: stop(register, "nothing")):
        with pytest.raises(NotKept):
            of()
    with pytest.raises(NotKept):
        ask(register, "NOBODY", "surge", SPEC, "a")
    with register.reading() as connection:
        assert job_of(connection, "nothing") is None


def test_the_list_of_jobs_shows_the_last_first_and_pages(register: Register, station: str) -> None:
    for number in range(3):
        ask(register, station, "chances", {"seed": number, "runs": 16, "event": "opening"}, "a")
    view = jobs_view(register)
    assert (len(view.jobs), view.total, view.open) == (3, 3, 3)
    assert view.jobs[0].ask == "opening, 16 runs, seed 2"
    assert jobs_view(register, start=2).jobs[0].ask == "opening, 16 runs, seed 0"
