"""A long judgement as a job: its portions and days are kept as they are finished, so it goes on from them."""

from __future__ import annotations

from steadyhead.register import Register
from steadyhead.register.logs import logs_folder
from steadyhead.services.jobs.asking import Asked, ask
from steadyhead.services.jobs.keys import judgement_id
from steadyhead.services.jobs.kinds import JUDGE, Outcome, Work
from steadyhead.services.logs.judging import Stopped, judge_period
from steadyhead.services.logs.times import moment


def ask_to_judge(register: Register, key: str, start: str, end: str, who: str) -> Asked:
    """Ask for a judgement of a period, whose ends are as typed (UTC; empty: no limit).

    Raises
    ------
    NotKept
        No such station.
    InputError
        An end is no time, or too many jobs wait already.
    """
    moment("start", start)
    moment("end", end)
    return ask(register, key, JUDGE, {"start": start.strip(), "end": end.strip()}, who)


def work(work: Work) -> Outcome | None:
    """Judge and keep it; None: cancelled.

    Raises
    ------
    InputError
        No samples in the period.
    """
    spec, job = work.spec, work.job
    start, end = moment("start", spec["start"]), moment("end", spec["end"])
    logs = logs_folder(work.register)
    try:
        judge_period(
            work.register, logs, job.station, start, end, job.asked_by, work.progress, work.cancel,
            judgement_id(job.spec_hash, job.asked_at),
        )  # fmt: skip
    except Stopped:
        return None
    return Outcome(content=b"", title="Logger data judged", mark="holds", words="")
