"""What a step asks for, as its form shows it: the next step of a visit, or the one that was chosen."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import UTC, date, datetime

from pydantic import BaseModel, ConfigDict

from steadyhead.findings import Amount, tell
from steadyhead.records.procedure import Node, Procedure
from steadyhead.records.run import Remark
from steadyhead.register import Register
from steadyhead.services.field.gauge_dates import DUE, PAST, dated
from steadyhead.services.field.planned import key_of
from steadyhead.services.page_words import capital, plan_words
from steadyhead.services.prepared import prepared
from steadyhead.services.running import JudgedRun, judge_run
from steadyhead.services.told_once import against_final_once
from steadyhead.services.visits_kept.run_rows import Run, files_of
from steadyhead.units import UnitSet
from steadyhead.visits.certifying.seen import in_words
from steadyhead.visits.texts import say
from steadyhead.visits.texts.saying import band_words, edges

OFF = "not on this way"
"""State of a step that the choices taken leave out."""
LACKING = "RUN-07"
"""Code of what is still to be noted."""
UNNAMED = {"@choice": "What is chosen", "@tick": "That it is done"}
"""What is asked without a label."""
MOST_ALSO = 12
"""Steps offered beside the one shown. Own estimate. [1]"""


class View(BaseModel):
    """What a page shows; also its JSON."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class AskedView(View):
    """One thing asked for at a step: the name it is entered by, what it is, and where it should lie.

    kind: ``yes_no``, ``text``, ``time_of_day``, ``photo`` or a kind of quantity. is_noted: it stands already.
    waits: after which other reading of the step it is read, and how long after that at least.
    """

    name: str
    words: str
    kind: str
    tap: str
    instrument: str
    stable: str
    bands: tuple[str, ...]
    needs_flow: bool
    is_noted: bool
    waits: str = ""


class NextView(View):
    """The next step, or the one chosen, as the plan has it.

    expects: where what is worked out of its readings should lie. also: other steps that can be done
    now, id and title. is_first: whether it is the one the plan names first. lists_gauges: whether its words
    list gauges with the days they are due, which are those known today and not those of the plan.
    """

    id: str
    title: str
    state: str
    why: tuple[str, ...]
    do: tuple[str, ...]
    cautions: tuple[str, ...]
    asked: tuple[AskedView, ...]
    expects: tuple[str, ...]
    choices: tuple[tuple[str, str], ...]
    otherwise: tuple[str, ...]
    leave: tuple[str, ...]
    stop_rules: tuple[str, ...]
    also: tuple[tuple[str, str], ...]
    is_first: bool = True
    lists_gauges: bool = False


def next_view(
    run: JudgedRun, units: UnitSet, chosen: str = "", fresh: Mapping[str, str] | None = None
) -> NextView | None:
    """Return the next step, or the one chosen where it is on the way; None where nothing is to be done.

    fresh: words of messages of the plan by key, where what is known now stands in place of the plan's.
    """
    judged, plan = run.judgement, run.procedure
    on_way = {one.id for one in judged.steps if one.state != OFF}
    wanted = chosen if chosen in on_way else next(iter(judged.next), "")
    if not wanted:
        return None
    node = plan.node(wanted)
    options = [choice for choice in plan.choices if choice.id == node.id]
    rest = [one for one in judged.next if one != wanted][:MOST_ALSO]
    return NextView(
        id=node.id,
        title=say(node.title, units),
        state=judged.step(node.id).state,
        why=because(run, node.id, units),
        do=do_words(node, units, fresh or {}),
        cautions=tuple(f"{one.tag}: {say(one.caution, units)}" for one in node.hazards),
        asked=tuple(asked_at(run, node, units)),
        expects=tuple(_expects(run, node, units)),
        choices=tuple((name, say(words, units)) for one in options for name, words, _ in one.options),
        otherwise=tuple(
            f"{say(one.see, units)} {say(one.meaning, units)} → {say(one.then, units)}"
            for one in node.otherwise
        ),
        leave=tuple(say(one.do, units) for one in node.back_out),
        stop_rules=tuple(say(one, units) for one in plan.stop_rules),
        also=tuple((one, say(plan.node(one).title, units)) for one in rest),
        is_first=wanted == next(iter(judged.next), ""),
        lists_gauges=lists_gauges(node),
    )


def lists_gauges(node: Node) -> bool:
    """Return whether the words of a step list gauges with the days they are due."""
    return any(name in one.params for one in node.do for name in (DUE, PAST))


def gauge_words(
    procedure: Procedure, days: Collection[tuple[str, str]], units: UnitSet, today: date
) -> Mapping[str, str]:
    """Return the words of the messages of a plan that list gauges, by key, with the days they are due.

    days: of `gauges.days_known`.
    """
    return dated(procedure, [{"name": name, "due": due} for name, due in days], units, today)


def do_words(node: Node, units: UnitSet, fresh: Mapping[str, str]) -> tuple[str, ...]:
    """Return what a step says is done; fresh: words by key of message that stand in place of the plan's."""
    told = ((key_of(one) if fresh else "", one) for one in node.do)
    return tuple(fresh[key] if key in fresh else say(one, units) for key, one in told)


def because(run: JudgedRun, step: str, units: UnitSet) -> tuple[str, ...]:
    """Return why a step does not count, in words."""
    return tuple(
        dict.fromkeys(
            lacking_words(run, remark, units) or plan_words(tell(finding, units).statement)
            for finding, by, remark in against_final_once(run, units)
            if remark is not None and not by and step in (remark.about, remark.params.get("step"))
        )
    )


def lacking_words(run: JudgedRun, remark: Remark, units: UnitSet) -> str:
    """Return what is still to be noted at a step by its labels; empty for other remarks."""
    if remark.code != LACKING:
        return ""
    names = [one.strip() for one in str(remark.params.get("lacks", "")).split(",")]
    return f"{remark.about}: still to be noted: {', '.join(called_at(run, remark.about, names, units))}."


def called_at(run: JudgedRun, step: str, names: Iterable[str], units: UnitSet) -> tuple[str, ...]:
    """Return what is asked at a step by its labels, as the page of the visit and the device show them."""
    labels = ((name, run.procedure.names.get(f"{step}/{name}")) for name in names)
    return tuple(
        capital(say(label, units)) if label is not None else UNNAMED.get(name, name) for name, label in labels
    )


def asked_at(run: JudgedRun, node: Node, units: UnitSet) -> Iterator[AskedView]:
    """Yield what is asked at a step; what is worked out of other readings is left out."""
    plan, lacks = run.procedure, run.judgement.step(node.id).lacks
    standing = (entry.payload for entry in run.ledger.standing if entry.node == node.id)
    noted = {str(told.get("input", told.get("of", ""))) for told in standing}
    waits = _waits(run, node, units)
    for one in node.inputs:
        if one.worked is not None:
            continue
        label = plan.names.get(f"{node.id}/{one.name}")
        bands = [
            f"{band_words(*edges(band.low, band.high, one.quantity, units))}{_where(band.where)}"
            for band in node.expect
            if band.input == one.name
        ]
        stable = f"still for {one.stable_for:g} s" if one.stable_for else ""
        yield AskedView(
            name=one.name,
            words=capital(say(label, units)) if label is not None else one.name,
            kind=one.quantity,
            tap=one.tap,
            instrument=one.instrument,
            stable=stable,
            bands=tuple(bands),
            needs_flow="flow" in one.carries and all(other.name != "flow" for other in node.inputs),
            is_noted=one.name in noted and one.name not in lacks,
            waits=waits.get(one.name, ""),
        )


def _waits(run: JudgedRun, node: Node, units: UnitSet) -> dict[str, str]:
    """Return of each reading that ends a watch what it waits for: an entry too early does not count."""
    names, own = run.procedure.names, {one.name for one in node.inputs}
    found = {}
    for refusal in node.refuses:
        asked = refusal.message.params.get("asked")
        if not isinstance(asked, Amount) or asked.kind != "time":
            continue
        pairs = (_watch(part) for part in refusal.when.get("all", ()))
        for last, first in (pair for pair in pairs if pair and own.issuperset(pair)):
            label = names.get(f"{node.id}/{first}")
            words = say(label, units) if label is not None else first
            found[last] = f"{in_words(asked.si, 'time', units)} or more after {words}, in an entry of its own"
    return found


def _watch(part: object) -> tuple[str, str] | None:
    """Return last and first reading of a watch, of the predicate that there was too little time between."""
    match part:
        case {"lt": [{"sub": [{"time": str(last)}, {"time": str(first)}]}, _]}:
            return last, first
    return None


def _expects(run: JudgedRun, node: Node, units: UnitSet) -> Iterator[str]:
    """Yield the bands of what nobody reads by itself: it is worked out of the readings of the step."""
    worked = {one.name: one.quantity for one in node.inputs if one.worked is not None}
    for band in node.expect:
        if band.input in worked:
            label = run.procedure.names.get(f"{node.id}/{band.input}")
            words = say(label, units) if label is not None else band.input
            told = band_words(*edges(band.low, band.high, worked[band.input], units))
            yield f"{words}: {told}{_where(band.where)}"


def _where(where: tuple[str, str] | None) -> str:
    return f" where {where[0]} is {where[1]}" if where else ""


def step_view(
    register: Register,
    of: Run,
    step: str,
    units: UnitSet,
    now: float,
    days: Collection[tuple[str, str]] = (),
) -> NextView | None:
    """Return a step of a run that was chosen in place of the next one; the next one where it is no step.

    now: when it is judged. [s] days: gauges and the days they are due, of `gauges.days_known`.
    """
    parts = {"run": of.id, "entries": str(of.entries), "step": step, "units": f"{units.name} {units.decimal}"}
    day = datetime.fromtimestamp(now, UTC).date()
    if days:
        parts |= {"day": day.isoformat(), "gauges": "; ".join(f"{name} {due}" for name, due in days)}

    def make() -> bytes:
        with register.reading() as connection:
            plan, entries = files_of(connection, of)
        run = judge_run(plan, entries, now)
        fresh = gauge_words(run.procedure, days, units, day) if days else {}
        found = next_view(run, units, step, fresh)
        return found.model_dump_json().encode() if found is not None else b""

    content = prepared(register, of.station, "step of a run", parts, make)
    return NextView.model_validate_json(content) if content else None
