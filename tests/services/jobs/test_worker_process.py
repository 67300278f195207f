"""The worker as a process of its own: killed in the middle of a study, begun again, ended with its parent."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import select

from steadyhead.register import Register, open_register
from steadyhead.register.tables import prepared
from steadyhead.services.chances import chances_data, run_chances
from steadyhead.services.jobs.asking import ask, stop
from steadyhead.services.jobs.process import ending_words, start_worker
from steadyhead.services.jobs.views import JobView, job_view
from steadyhead.services.stations.saving import save
from steadyhead.services.studies.chances_work import CHANCES
from steadyhead.services.studies.kept import content_of, study_of
from steadyhead.station.examples import read

NAME = "dunmarrow-bottom"
WAIT = 120.0
RUNS = 200
SPEC = {"event": "fails-open", "way": "", "runs": RUNS, "seed": 7}

pytestmark = [pytest.mark.skipif(sys.platform == "win32", reason="kills by signal"), pytest.mark.by_turns(4)]


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Register]:
    found = open_register(tmp_path / "register")
    save(found, read(NAME), "Ilse Marrow")
    yield found
    found.close()


def _until(register: Register, job_id: str, holds: Callable[[JobView], bool]) -> JobView:
    ends = time.monotonic() + WAIT
    while time.monotonic() < ends:
        found = job_view(register, job_id)
        if holds(found):
            return found
        time.sleep(0.05)
    raise AssertionError(f"after {WAIT:g} s: {found}")


def _kept(register: Register) -> int:
    """Return how many runs are kept of a study that is not finished."""
    query = select(prepared.c.body).where(prepared.c.kind.like("part %"))
    with register.reading() as connection:
        return sum(len(json.loads(bytes(body))) for body in connection.execute(query).scalars())


def test_a_worker_killed_in_the_middle_of_a_study_loses_no_finished_run(here: Register) -> None:
    job_id = ask(here, "DMB-01", "chances", SPEC, "Ilse Marrow").id
    worker = start_worker(here.folder)
    try:
        _until(here, job_id, lambda one: _kept(here) > 0)
        first = worker.pid
        os.kill(first, signal.SIGKILL)
        there = _kept(here)
        again = _until(here, job_id, lambda one: one.tries == 2 and one.share > 0.0)
        assert again.share >= there / RUNS > 0.0, "it goes on from what was kept"
        assert worker.pid != first
        done = _until(here, job_id, lambda one: not one.is_open)
    finally:
        worker.stop()
    assert not worker.is_alive
    assert (done.state, done.tries, done.problem) == ("done", 2, "")
    with here.reading() as connection:
        row = study_of(connection, "DMB-01", f"study-{job_id}")
    kept = CHANCES.validate_python(content_of(here, row.content)["chances"])
    straight = run_chances(read(NAME), "DMB-01", "fails-open", RUNS, 7)
    told = chances_data(straight)
    assert chances_data(type(straight)(straight.loaded, kept)) == told, "as if nothing had happened"


def test_a_worker_hears_a_wish_to_stop_and_ends_with_its_parent(here: Register) -> None:
    long = SPEC | {"runs": 20_000}
    job_id = ask(here, "DMB-01", "chances", long, "Ilse Marrow").id
    words = (
        "import sys, time\n"
        "from steadyhead.services.jobs.process import start_worker\n"
        "one = start_worker(sys.argv[1])\n"
        "print(one.pid, flush=True)\n"
        "time.sleep(600)\n"
    )
    parent = subprocess.Popen([sys.executable, "-c", words, here.folder], stdout=subprocess.PIPE, text=True)
    try:
        assert parent.stdout is not None
        worker = int(parent.stdout.readline())
        _until(here, job_id, lambda one: one.share > 0.0)
        assert stop(here, job_id)
        begun = time.monotonic()
        _until(here, job_id, lambda one: one.state == "stopped")
        assert time.monotonic() - begun < 10.0, "seconds, also on a busy machine"
        if hasattr(os, "getpriority"):
            assert os.getpriority(os.PRIO_PROCESS, worker) > os.getpriority(os.PRIO_PROCESS, parent.pid)
    finally:
        parent.kill()
        parent.communicate()
    ends = time.monotonic() + WAIT
    while _runs(worker) and time.monotonic() < ends:
        time.sleep(0.1)
    assert not _runs(worker), "nothing goes on where nobody serves"


def _runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{pid}/stat")
    return not state.exists() or state.read_text().rpartition(")")[2].split()[0] != "Z"


def test_how_a_worker_ended_is_told_in_words() -> None:
    assert "memory runs out" in ending_words(-signal.SIGKILL)
    assert ending_words(-signal.SIGSEGV) == f"compiled code crashed (signal {int(signal.SIGSEGV)}, SIGSEGV)"
    assert ending_words(1) == "it ended by itself (status 1)"
