"""Jobs come to an end in every way: done, failed, stopped, given back, gone on with, taken by one only."""

from __future__ import annotations

import json
import threading
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import select

from steadyhead.errors import InputError
from steadyhead.register import Register, now_text, open_register
from steadyhead.register import jobs as kept
from steadyhead.register.tables import audit, job, prepared, record
from steadyhead.services.jobs.asking import ask, stop
from steadyhead.services.jobs.views import JobView, job_view
from steadyhead.services.jobs.working import MOST_TRIES, Beating, Queue, Watch, give_back, give_back_all
from tests.services.jobs.tried_work import Told

SPEC = {"event": "fails-open", "way": "", "within": ""}
WAIT = 10.0


def _worker(register: Register, name: str = "a worker") -> Queue:
    return Queue(register, name, "studies", every=0.01)


def _asked(register: Register, station: str) -> str:
    return ask(register, station, "surge", SPEC, "Ilse Marrow").id


def _taken(register: Register, name: str = "gone") -> kept.JobRow:
    with register.caching() as connection:
        found = kept.take(connection, ("surge",), name, time.time(), now_text())
    assert found is not None
    return found


def _place(register: Register) -> str:
    url = register.engine.url.render_as_string(hide_password=False)
    return register.folder or url.replace("postgresql+psycopg://", "postgresql://", 1)


def _until(register: Register, job_id: str, *states: str) -> JobView:
    ends = time.monotonic() + WAIT
    while time.monotonic() < ends:
        found = job_view(register, job_id)
        if found.state in states:
            return found
        time.sleep(0.01)
    raise AssertionError(f"{job_id} is {found.state}, not {states}")


def test_a_finished_study_is_a_record_of_its_station_told_in_the_chain(
    register: Register, station: str, quick: Told
) -> None:
    job_id = _asked(register, station)
    assert _worker(register).once()
    with register.reading() as connection:
        row = connection.execute(select(record).where(record.c.id == f"study-{job_id}")).one()
        acts = connection.execute(select(audit.c.act).order_by(audit.c.seq.desc()).limit(3)).scalars().all()
        parts = connection.execute(select(prepared).where(prepared.c.kind.like("part %"))).all()
    assert (row.kind, row.title, row.who) == ("study", "Surge: tried", "Ilse Marrow")
    assert register.content(row.content) == b'{"event": "fails-open"}'
    about = json.loads(row.about)
    assert (about["revision"], about["mark"], about["words"]) == (1, "holds", "inside")
    assert about["engine"]
    assert "study made" in acts
    assert not parts, "cases of a finished study are no longer kept"
    assert job_view(register, job_id).share == 1.0


@pytest.mark.parametrize(
    ("by", "words"),
    [
        (InputError, "cannot be run. Name another."),
        (MemoryError, "needs more memory than there is"),
        (RuntimeError, "a flaw of this program: RuntimeError: told to"),
    ],
)
def test_a_study_that_fails_says_why_and_keeps_no_record(
    register: Register, station: str, quick: Told, by: type[Exception], words: str
) -> None:
    quick.fails_at, quick.by = 1, by
    job_id = _asked(register, station)
    assert _worker(register).once()
    found = job_view(register, job_id)
    assert found.state == "failed"
    assert words in found.problem
    with register.reading() as connection:
        assert not connection.execute(select(record)).all()


def test_a_study_cut_off_goes_on_from_its_finished_cases(
    register: Register, station: str, quick: Told
) -> None:
    quick.fails_at, quick.by = 2, KeyboardInterrupt
    job_id = _asked(register, station)
    with pytest.raises(KeyboardInterrupt):
        _worker(register, "first").once()
    assert job_view(register, job_id).state == "running", "nobody has told of its end"
    assert give_back_all(register, "first", "it was ended from outside") == 1
    found = job_view(register, job_id)
    assert (found.state, found.state_words) == ("asked", "waits to be gone on with")
    assert "it was ended from outside" in found.problem
    assert _worker(register, "second").once()
    found = job_view(register, job_id)
    assert (found.state, found.tries, found.problem) == ("done", 2, "")
    assert quick.found == 2
    assert quick.done == ["case 0", "case 1", "case 2"], "each case once"


def test_a_study_that_is_gone_on_with_keeps_when_it_was_begun(register: Register, station: str) -> None:
    job_id = _asked(register, station)
    for at in ("2026-11-28T09:00:00Z", "2026-11-28T10:00:00Z", "2026-11-28T11:00:00Z"):
        with register.caching() as connection:
            assert kept.take(connection, ("surge",), "gone", 0.0, at)
        if not at.startswith("2026-11-28T11"):
            give_back_all(register, "gone", "it ended")
    found = job_view(register, job_id)
    assert (found.begun_at, found.gone_on_at) == ("2026-11-28T09:00:00Z", "2026-11-28T11:00:00Z")
    assert found.tries == 3


def test_a_study_whose_workers_die_is_given_up_after_a_few_tries(register: Register, station: str) -> None:
    job_id = _asked(register, station)
    for _ in range(MOST_TRIES):
        _taken(register, "gone")
        assert give_back_all(register, "gone", "compiled code crashed (signal 11, SIGSEGV)") == 1
    found = job_view(register, job_id)
    assert found.state == "failed"
    assert found.problem == (
        "The process that worked on it ended before it was finished, 3 times: compiled code crashed "
        "(signal 11, SIGSEGV)."
    )


def test_a_wish_to_stop_is_heard_within_seconds(register: Register, station: str, quick: Told) -> None:
    quick.waits = True
    job_id = _asked(register, station)
    thread = threading.Thread(target=_worker(register).once)
    thread.start()
    assert quick.begun.wait(WAIT)
    begun = time.monotonic()
    assert stop(register, job_id)
    found = _until(register, job_id, "stopped")
    thread.join(WAIT)
    assert time.monotonic() - begun < 3.0
    assert (found.problem, found.result_href) == ("", "")


def test_a_worker_that_ends_puts_its_study_off_without_counting_a_try(
    register: Register, station: str, quick: Told
) -> None:
    quick.waits = True
    job_id = _asked(register, station)
    ending = threading.Event()
    queue = Queue(register, "a worker", "studies", ending.is_set, every=0.01)
    thread = threading.Thread(target=queue.once)
    thread.start()
    assert quick.begun.wait(WAIT)
    ending.set()
    thread.join(WAIT)
    found = job_view(register, job_id)
    assert (found.state, found.tries) == ("asked", 0)


def test_what_a_worker_works_out_after_it_lost_the_study_is_thrown_away(
    register: Register, station: str, quick: Told
) -> None:
    quick.waits = True
    job_id = _asked(register, station)
    queue = _worker(register, "slow")
    thread = threading.Thread(target=queue.once)
    thread.start()
    assert quick.begun.wait(WAIT)
    with register.reading() as connection:
        (held,) = kept.running(connection)
    while not give_back(register, held, "it gave no sign of life"):
        with register.reading() as connection:
            (held,) = kept.running(connection)
    other = _taken(register, "other")
    quick.waits = False
    thread.join(WAIT)
    found = job_view(register, job_id)
    assert (found.state, found.tries) == ("running", 2)
    with register.caching() as connection:
        assert not kept.end(connection, held, "done", now_text())
        assert kept.beat(connection, held, time.time(), 0.5, "") is None
        assert kept.end(connection, other, "failed", now_text(), problem="tried")


def test_each_study_is_taken_once_however_many_workers_take(register: Register, station: str) -> None:
    asked = {ask(register, station, "chances", {"seed": number}, "a").id for number in range(12)}
    others = [open_register(_place(register)) for _ in range(4)]

    def take(number: int) -> list[str]:
        found = []
        for _ in range(6):
            with others[number].caching() as connection:
                one = kept.take(connection, ("chances",), f"worker {number}", time.time(), now_text())
            if one is not None:
                found.append(one.id)
        return found

    with ThreadPoolExecutor(4) as pool:
        taken = [one for found in pool.map(take, range(4)) for one in found]
    for one in others:
        one.close()
    assert sorted(taken) == sorted(asked)


def test_a_silent_worker_loses_its_study_and_one_that_gives_signs_of_life_does_not(
    register: Register, station: str
) -> None:
    job_id = _asked(register, station)
    held = _taken(register, "other")
    watch = Watch(register, "me", silent_for=20.0)
    assert watch.once(now=0.0) == 0
    with Beating(register, held, every=100.0) as beating:
        beating.progress(1, 4, "a case")
        beating.once()
        assert not beating.cancel()
    assert watch.once(now=19.0) == 0, "it gave a sign of life"
    assert watch.once(now=38.0) == 0
    found = job_view(register, job_id)
    assert (found.state, found.share, found.words) == ("running", 0.25, "a case: 25 %")
    assert watch.once(now=40.0) == 1
    assert job_view(register, job_id).state == "asked"
    assert Watch(register, "other").once() == 0


def test_a_study_to_be_stopped_whose_worker_dies_is_stopped(register: Register, station: str) -> None:
    job_id = _asked(register, station)
    _taken(register, "gone")
    assert stop(register, job_id)
    assert job_view(register, job_id).state_words == "is being stopped"
    assert give_back_all(register, "gone", "it ended") == 1
    assert job_view(register, job_id).state == "stopped"


def test_studies_and_pictures_wait_in_queues_of_their_own(register: Register, station: str) -> None:
    ask(register, station, "capacity", {"units": "metric"}, "a")
    assert not _worker(register).once()
    with register.reading() as connection:
        assert connection.execute(select(job.c.state)).scalar_one() == "asked"
