"""Plans of a station: made from its last revision, kept as record, paper and text, told when old."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import Connection, select

from steadyhead.errors import InputError
from steadyhead.records.baseline import Baseline
from steadyhead.register import Register
from steadyhead.register.tables import revision, station
from steadyhead.services.logs.crossed import does, standing_in
from steadyhead.services.papers import plan_paper
from steadyhead.services.plan_files import ENDING, plan_file, read_plan_file
from steadyhead.services.planning import VISITS, MadePlan, NoPlan, make_plan, plan_text
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.judged import today
from steadyhead.services.stations.kept import head_file
from steadyhead.services.visits_kept.filing import Filed, content_of, filed, keep, one_filed
from steadyhead.services.visits_kept.twin import chosen_baseline
from steadyhead.station.canonical import sha256
from steadyhead.units import METRIC, UnitSet

if TYPE_CHECKING:
    from steadyhead.visits.logger_steps import About

PLANS = ("plan", "plan paper", "plan text")
ABOUT: dict[str, About] = {
    "strainer coefficient": "strainer", "outlet at the lowest flow": "lock-up",
    "resistance of the shut-off": "shut-off", "droop over that as left": "droop",
    "rise at the lowest flow over that as left": "lock-up",
}  # fmt: skip
"""What a measure of loggers is about, by its code, where steps of a plan look at the same thing."""
WORDS: dict[str, str] = {
    "first": "first visit: all settings and proofs",
    "yearly": "yearly proof: of a station in service",
    "after-repair": "after a repair: what it made stale",
    "new-setting": "new setting of a pilot",
    "return-to-service": "return to service: nothing was touched",
    "restart": "restart after a trip",
}
"""What each kind of visit is for."""
KIND_WORDS = {name.replace("-", "_"): words.partition(":")[0] for name, words in WORDS.items()}
assert set(WORDS) == set(VISITS)


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A plan that is kept, with its paper and text.

    Parameters
    ----------
    record
        The plan file.
    paper, text
        Ids of its PDF and its text; empty where there is none.
    revision, head
        Revision it was made for, 0 where that file is not kept; and the last one.
    against
        How many findings stood against the release of the design on that day.
    """

    record: Filed
    paper: str
    text: str
    revision: int
    head: int
    against: int

    @property
    def old(self) -> str:
        """What is to be told of a plan whose design has changed since; empty where it is that of today."""
        if self.revision == self.head:
            return ""
        if not self.revision:
            return "made for a file that is not kept here"
        return f"made for revision {self.revision}; the file is at {self.head}"


def make(
    register: Register,
    key: str,
    visit: str,
    item: str,
    who: str,
    *,
    units: UnitSet = METRIC,
    day: date | None = None,
    at: str = "",
    with_twin: bool = True,
    with_paper: bool = True,
) -> KeptPlan:
    """Make a plan from the last revision of a station and keep it.

    Parameters
    ----------
    visit, item
        One of `VISITS`, and what was repaired or is set anew, where that visit takes one.
    who, at
        Whom the chain names, and when; now where left out.
    units, day
        Units of the paper, and the day it is judged on.
    with_twin
        With the baseline chosen for the twin, where there is one.
    with_paper
        Keep the PDF too.

    Raises
    ------
    NotKept
        No such station.
    NoPlan
        The design forbids it.
    InputErrors, InputError
        A bad field of the file, or a visit or item that is not known.
    """
    head, day = head_file(register, key), day or today()
    baseline = _baseline(register, key) if with_twin else None
    made = make_plan(head.source, f"{visit}={item}" if item.strip() else visit, key, day, None, baseline)
    if made.procedure is None:
        raise NoPlan(made.findings)
    made = _with_crossed(register, key, made, day)
    paper = plan_paper(made, units, day, f"revision {head.number}") if with_paper else b""
    return _kept(register, key, made, paper, who, units, at, head.number, day)


def _with_crossed(register: Register, key: str, made: MadePlan, day: date) -> MadePlan:
    """Return a plan that names each measure of loggers that is over its limit: first of its notes, and at
    the steps that look at the same thing.
    """
    with register.reading() as connection:
        crossed = standing_in(connection, key, day)
    if made.procedure is None or not crossed:
        return made
    from steadyhead.visits.logger_steps import at_their_steps
    from steadyhead.visits.plan import seen_by_loggers

    mark = sha256("\n".join(f"{one.words}\0{one.because}" for one in crossed).encode())[:6]
    here = [(ABOUT[one.code], one.words, one.because) for one in crossed if one.code in ABOUT]
    plan = at_their_steps(made.procedure, made.loaded.station, here)
    plan = seen_by_loggers(plan, [(one.words, one.because, does(one)) for one in crossed])
    return replace(made, procedure=replace(plan, id=f"{plan.id}.{mark}"))


def _baseline(register: Register, key: str) -> Baseline | None:
    with register.reading() as connection:
        return chosen_baseline(connection, key)


def _kept(
    register: Register,
    key: str,
    made: MadePlan,
    paper: bytes,
    who: str,
    units: UnitSet,
    at: str,
    number: int,
    day: date,
) -> KeptPlan:
    assert made.procedure is not None
    plan = made.procedure
    stem, title = f"{key}-{plan.kind}-r{number}", KIND_WORDS[plan.kind]
    title = f"{title}, {plan.item}" if plan.item else title
    about = {
        "plan": plan.id,
        "visit": plan.kind,
        "item": plan.item,
        "station_sha256": made.loaded.sha256,
        "against": len(made.against),
        "steps": len(plan.nodes),
        "baseline": plan.baseline_id,
    }
    stored = plan_file(plan)
    about["sha256"] = read_plan_file(stored).sha256
    with register.writing(who, at) as writing:
        one = keep(
            writing,
            key,
            "plan",
            stored,
            name=f"{stem}{ENDING}",
            title=title,
            media="text/plain",
            about=about,
            act="plan made",
        )
        told = {"plan": one.id}
        text = keep(
            writing,
            key,
            "plan text",
            plan_text(made, units).encode(),
            name=f"{stem}.txt",
            title=f"{title}, text",
            media="text/plain; charset=utf-8",
            about=told,
        )
        pdf = paper and keep(
            writing,
            key,
            "plan paper",
            paper,
            name=f"{stem}.pdf",
            title=f"{title}, paper",
            media="application/pdf",
            about=told,
        )
        renew(writing, register, key, day)
    return KeptPlan(one, pdf.id if isinstance(pdf, Filed) else "", text.id, number, number, len(made.against))


def plans(connection: Connection, key: str) -> tuple[KeptPlan, ...]:
    """Return the plans of a station, the newest first."""
    every = filed(connection, key, PLANS)
    rows = connection.execute(
        select(revision.c.file, revision.c.number)
        .where(revision.c.station == key)
        .order_by(revision.c.number)
    ).all()
    numbers = {row.file: row.number for row in rows}
    head, last = (rows[-1].number, rows[-1].file) if rows else (0, "")
    beside = {(str(one.about.get("plan")), one.kind): one.id for one in every if one.kind != "plan"}
    return tuple(
        KeptPlan(
            one,
            beside.get((one.id, "plan paper"), ""),
            beside.get((one.id, "plan text"), ""),
            head
            if last == one.about.get("station_sha256")
            else numbers.get(str(one.about.get("station_sha256")), 0),
            head,
            int(one.about.get("against", 0)),
        )
        for one in every
        if one.kind == "plan" and not one.struck
    )


def plan_content(register: Register, key: str, one: str) -> tuple[Filed, bytes]:
    """Return a kept plan and its bytes.

    Raises
    ------
    NotKept
        The station has no such plan.
    """
    with register.reading() as connection:
        found = one_filed(connection, key, one)
    if found.kind != "plan":
        raise InputError("plan", f"{found.title!r:.60} is no plan.", "Pick one of the plans listed.")
    return found, content_of(register, found)


def take_plan(register: Register, key: str, content: bytes, who: str, at: str = "") -> Filed:
    """Keep a plan file that was made elsewhere, after its hash was verified.

    Raises
    ------
    InputError
        No plan file, one that was changed, or one of another station.
    """
    stored = read_plan_file(content)
    plan = stored.procedure
    if plan.station_id != key:
        raise InputError("plan", f"is of station {plan.station_id}.", "Take it in there.")
    with register.writing(who, at) as writing:
        connection = writing.connection
        if connection.execute(select(station.c.key).where(station.c.key == key)).first() is None:
            head_file(register, key)
        there = [one for one in filed(connection, key, ("plan",)) if one.about.get("sha256") == stored.sha256]
        if there:
            return there[0]
        about = {
            "plan": plan.id,
            "visit": plan.kind,
            "item": plan.item,
            "station_sha256": plan.station_hash,
            "against": 0,
            "steps": len(plan.nodes),
            "baseline": plan.baseline_id,
            "sha256": stored.sha256,
        }
        title = KIND_WORDS.get(plan.kind, plan.kind)
        return keep(
            writing,
            key,
            "plan",
            content,
            name=f"{key}-{plan.kind}{ENDING}",
            title=f"{title}, taken in",
            media="text/plain",
            about=about,
            act="plan taken in",
        )
