"""What the judge says about steps, entries and devices; the words stand in the catalogue of findings."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping
from itertools import pairwise

from steadyhead.procedure.clocks import LISTED, clocks
from steadyhead.procedure.fitness import Unfit, is_answer, is_of, other
from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.ledger import Ledger, amends_nothing
from steadyhead.procedure.naming import folded
from steadyhead.procedure.record import Record, Row, day_of, people, vouches
from steadyhead.procedure.steps import Step, is_refusal
from steadyhead.records.entry import KINDS, Entry
from steadyhead.records.procedure import Input
from steadyhead.records.run import Plain, Remark

AHEAD = 120.0
"""How far an entry may lie ahead of the judge's clock. Own estimate. [s]"""


def of_ledger(ledger: Ledger) -> tuple[Remark, ...]:
    """Return what stands against *final* whatever the entries say: what cannot be read, one id twice."""
    bad = [
        Remark("RUN-01", f"{fault.where}:{fault.line}", (), {"problem": fault.problem, "text": fault.text})
        for fault in ledger.faults
    ]
    two = [
        Remark("RUN-02", clash.id, (clash.id,), {"forms": float(len(clash.forms))})
        for clash in sorted(ledger.clashes, key=lambda clash: clash.id)
    ]
    return (*bad, *two)


def of_step(step: Step, record: Record) -> list[Remark]:
    """Return what stands against *final* at one step."""
    if step.way == "off":
        return []
    node, name = step.node, step.node.id
    newest = tuple(dict.fromkeys(row.entry.id for pick in step.chosen.values() for row in pick.rows))
    found = [Remark("RUN-08", name, newest, {}, one.see) for one in step.fires if not one.tells]
    found += [Remark("RUN-09", name, newest, {}, one.message) for one in step.refusals]
    if step.unmet:
        found.append(Remark("RUN-10", name, newest, {"needs": _list(step.unmet)}))
    if step.uncovered:
        found.append(Remark("RUN-53", name, newest or _begun(step), {"on": _list(step.uncovered)}))
    found += step.held
    found += _unread(step, record, counts=True)
    if node.proves:
        found += [_unfit(step, *one[:3]) for one in step.unfit if one[3]]
        found += list(_not_authorised(step, record))
    if step.lacks and step.way == "on":
        found.append(Remark("RUN-07", name, (), {"lacks": _list(step.lacks)}))
    for one in step.outside:
        ids = tuple(row.entry.id for row in step.chosen[one].rows)
        found.append(Remark("RUN-14", name, ids, {"input": one, **_band(step, one)}))
    if step.differs is not None and step.differs.apart:
        found.append(_differs(step))
    return found


def _unread(step: Step, record: Record, *, counts: bool) -> list[Remark]:
    """Return the values of another kind than asked, and refusals; counts: those not answered since."""
    inputs = {one.name: one for one in step.node.inputs}
    found = []
    for name, row in step.mistyped:
        if counts is (step.way != "off" and all(one.at < row.at for one in step.given.get(name, ()))):
            told = _kind(inputs[name], row, step, record)
            found.append(Remark("RUN-06", step.node.id, (row.entry.id,), {"input": name, **told}))
    return found


def _kind(one: Input, row: Row, step: Step, record: Record) -> dict[str, Plain]:
    """Return why a value is none that was asked for: a refusal, another quantity, or nothing of its kind."""
    if is_refusal(record, step.node, one, row):
        return {"why": "refusal"}
    if is_answer(one, row) and not is_of(one, row):
        return {"why": "other quantity", **other(one, row)}
    return {"why": "other kind"}


def _refused(step: Step, record: Record) -> Iterator[Remark]:
    """Yield the fields in words that a bare refusal answers, of which the plan minds nothing."""
    for one in step.node.inputs if step.way == "on" else ():
        for row in step.chosen[one.name].rows if one.name in step.chosen else ():
            if is_refusal(record, step.node, one, row, any_field=True):
                yield Remark("RUN-06", step.node.id, (row.entry.id,), {"input": one.name, "why": "refusal"})


def told_of_step(step: Step, record: Record) -> list[Remark]:
    """Return what is worth knowing at one step and forbids nothing."""
    name = step.node.id
    later = name in record.procedure.after
    found = [Remark("RUN-08", name, (), {}, one.see) for one in step.fires if one.tells or later]
    if step.way == "off" and step.begun:
        found.append(Remark("RUN-05", name, tuple(row.entry.id for row in step.rows), {"why": "other way"}))
    found += _unread(step, record, counts=False)
    found += _refused(step, record)
    found += [_unfit(step, *one[:3]) for one in step.unfit if not (one[3] and step.node.proves)]
    if step.unmet_paper:
        found.append(Remark("RUN-10", name, (), {"needs": _list(step.unmet_paper)}))
    if step.unnoted and step.way == "on":
        found.append(Remark("RUN-07", name, (), {"lacks": _list(step.unnoted)}))
    if step.differs is not None and not step.differs.apart:
        found.append(_differs(step))
    return found


def told_of_record(
    whole: Ledger, mine: Ledger, record: Record, steps: Mapping[str, Step], now: float | None
) -> list[Remark]:
    """Return what is worth knowing of the entries as a whole."""
    found = list(_strays(whole, mine, record, steps))
    found += list(clocks(mine.entries))
    found += list(_cannot_be(record, steps))
    if now is not None:
        ahead = [row for row in record.rows if row.time > now + row.entry.clock_within + AHEAD]
        if ahead:
            ids = tuple(row.entry.id for row in ahead[:LISTED])
            found.append(
                Remark("RUN-03", ahead[-1].entry.device, ids, {"why": "ahead", "by": ahead[-1].time - now})
            )
    found += list(_described(record))
    found += list(_signed(record))
    found += list(_by_nobody(record))
    return found


def _cannot_be(record: Record, steps: Mapping[str, Step]) -> Iterator[Remark]:
    """Yield the pressures that count and cannot stand where they were read."""
    for one in record.procedure.minding.ranges:
        step = steps.get(one.step)
        pick = step.chosen.get(one.input) if step is not None and step.way == "on" else None
        if pick is None or not is_number(pick.value) or one.low <= pick.value <= one.high:
            continue
        params: dict[str, Plain] = {
            "input": one.input, "why": "cannot be", "value": float(pick.value), "high": one.high,
        }  # fmt: skip
        yield Remark("RUN-06", one.step, tuple(row.entry.id for row in pick.rows), params)


def _begun(step: Step) -> tuple[str, ...]:
    return tuple(row.entry.id for row in step.rows[-1:])


def _text(entry: Entry, key: str) -> str:
    found = entry.payload.get(key)
    return found if isinstance(found, str) else ""


def _strays(whole: Ledger, mine: Ledger, record: Record, steps: Mapping[str, Step]) -> Iterator[Remark]:
    for row in record.rows:
        entry, ids = row.entry, (row.entry.id,)
        if entry.kind not in KINDS:
            yield Remark("RUN-05", entry.kind, ids, {"why": "kind"})
        elif entry.kind == "run" and row.text("kind") not in ("", record.procedure.kind):
            params = {"why": "other visit", "got": row.text("kind"), "asked": record.procedure.kind}
            yield Remark("RUN-05", "run", ids, params)
        elif entry.node and entry.node not in steps:
            yield Remark("RUN-05", entry.node, ids, {"why": "no step"})
        elif row.input and entry.node in steps:
            if all(one.name != row.input for one in steps[entry.node].node.inputs):
                yield Remark("RUN-05", entry.node, ids, {"why": "no input", "input": row.input})
        elif entry.kind == "choice" and record.choices.get(row.text("choice")) is None:
            yield Remark("RUN-05", row.text("choice"), ids, {"why": "no choice"})
    for id_ in amends_nothing(mine.entries):
        yield Remark("RUN-05", id_, (id_,), {"why": "amends nothing"})
    forms = sorted((form for clash in whole.clashes for form in clash.forms), key=lambda form: form.order)
    others = tuple(entry.id for entry in (*whole.entries, *forms) if entry.run != mine.run)
    if others:
        yield Remark("RUN-05", "run", others[:LISTED], {"why": "other run", "count": float(len(others))})


def _described(record: Record) -> Iterator[Remark]:
    """Yield the instruments whose description came, or changed, after they had been read with."""
    read: dict[str, list[int]] = {}
    for row in record.rows:
        if row.input and row.text("instrument") in record.described:
            read.setdefault(row.text("instrument"), []).append(row.at)
    for name, told in record.described.items():
        ats = read.get(name, [])
        before = bisect_right(ats, told[0][0])
        if before:
            ids = (record.rows[told[0][0]].entry.id,)
            yield Remark("RUN-91", name, ids, {"why": "after", "count": float(before)})
        for (_, old), (at, new) in pairwise(told):
            count = bisect_right(ats, at)
            if count and old != new:
                yield Remark(
                    "RUN-91", name, (record.rows[at].entry.id,), {"why": "anew", "count": float(count)}
                )


def _signed(record: Record) -> Iterator[Remark]:
    for row in record.rows:
        if row.entry.kind == "sign" and row.text("asks") not in ("final", "provisional"):
            yield Remark("RUN-19", "sign", (row.entry.id,), {"asks": row.text("asks")})


def _by_nobody(record: Record) -> Iterator[Remark]:
    """Yield the signatures and agreements of people of whom the run knows nothing else."""
    known = people(record)
    for row in record.rows:
        if vouches(row) and folded(row.entry.who) not in known:
            params: dict[str, Plain] = {"why": "nobody", "who": row.entry.who or "nobody"}
            yield Remark("RUN-05", row.entry.node or "run", (row.entry.id,), params)


def _not_authorised(step: Step, record: Record) -> Iterator[Remark]:
    until = {row.text("name"): row for row in record.rows if row.entry.kind == "person"}
    counted = {row.at: row for pick in step.chosen.values() for row in pick.rows}
    said: set[str] = set()
    for at in sorted(counted):
        row = counted[at]
        person = until.get(row.entry.who)
        last = None if person is None else day_of(person.entry.payload.get("authorised_until"))
        if last is not None and row.day > last and row.entry.who not in said:
            said.add(row.entry.who)
            yield Remark(
                "RUN-18", step.node.id, (row.entry.id,), {"who": row.entry.who, "days": row.day - last}
            )


def _unfit(step: Step, name: str, row: Row, why: Unfit) -> Remark:
    return Remark("RUN-06", step.node.id, (row.entry.id,), {"input": name, "why": why.why, **why.params})


def _differs(step: Step) -> Remark:
    assert step.differs is not None
    old, new = step.differs.old, step.differs.new
    params = {
        "input": step.differs.input,
        "one": old.entry.payload["value"],
        "other": new.entry.payload["value"],
        "devices": f"{old.entry.device}, {new.entry.device}",
    }
    return Remark("RUN-04", step.node.id, (old.entry.id, new.entry.id), params)


def _band(step: Step, name: str) -> dict[str, float | None]:
    band, value = step.bands[name], step.chosen[name].value
    assert isinstance(value, int | float)
    return {"value": float(value), "low": band["low"], "high": band["high"]}


def _list(names: tuple[str, ...]) -> str:
    more = f" and {len(names) - LISTED} more" if len(names) > LISTED else ""
    return ", ".join(names[:LISTED]) + more
