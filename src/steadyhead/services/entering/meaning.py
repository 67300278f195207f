"""What an entry means at once: its band, what is amiss and what to do then, what it proves or takes away."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from steadyhead.findings import Finding, tell
from steadyhead.procedure.agreeing import Band
from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.record import lay
from steadyhead.procedure.steps import look
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.records.run import Remark, StepState
from steadyhead.services.judging import finding_data
from steadyhead.services.running import JudgedRun, against_final, worth_knowing
from steadyhead.units import METRIC, UnitSet, from_si, to_si
from steadyhead.visits.advising.readings import feeds

BY_HAND = ("RUN-03", "by hand")
"""Told of a whole file, not with each entry: the line of the entry says it."""
TOLD_APART = ("RUN-07", "RUN-11", "RUN-12", "RUN-13", "RUN-15")
"""Findings of steps not done and of proofs and items that changed: told as such, in fewer words."""
OUTSIDE, STOP_RULE = "RUN-14", "RUN-08"
"""Codes of a reading outside its band, and of a stop rule of a step."""
MIXED_UP = ("bar", "psi", "m head", "kPa")
"""Units of pressure that are typed for one another."""

FAR_BELOW, FITS_FROM = 0.1, 0.25
"""Shares of the highest a place can have: below the first a unit is doubted, from the second it fits. Own
estimates: 5.2 psi at a place of 9 bar is 4 %, and 5.2 bar there 58 %. [1]"""


@dataclass(frozen=True, slots=True)
class Standing:
    """A value of a new entry beside its band.

    unit: a unit in which the figure as typed would lie inside; empty where there is none, or no need.
    is_on_way: it stands below the band while the screw is still being raised as advised.
    """

    input: str
    quantity: str
    value: float
    low: float | None
    high: float | None
    unit: str = ""
    is_on_way: bool = False

    @property
    def is_inside(self) -> bool:
        """Whether it lies in the band."""
        return (self.low is None or self.value >= self.low) and (self.high is None or self.value <= self.high)


@dataclass(frozen=True, slots=True)
class Entered:
    """Entries that were added, and the run judged before and after.

    first: number of the first of them in the file. numbers: of the entries before, by id.
    gallons: names whose gallon was read as the US gallon.
    """

    first: int
    entries: tuple[Entry, ...]
    before: JudgedRun
    after: JudgedRun
    gallons: tuple[str, ...] = ()
    numbers: Mapping[str, int] = field(default_factory=dict)

    @property
    def steps(self) -> tuple[StepState, ...]:
        """Steps the entries were made at, as they stand now."""
        known = {state.id: state for state in self.after.judgement.steps}
        return tuple(known[name] for name in dict.fromkeys(e.node for e in self.entries) if name in known)

    @property
    def bands(self) -> tuple[Standing, ...]:
        """Values of the new entries that have a band, those worked out from them too."""
        return tuple(one for _, one in _bands(self))

    @property
    def other_units(self) -> tuple[str, ...]:
        """Words on new pressures without a band that were typed in another unit than every one before.

        Of the first ones of a run: where the figure fits the place in another unit, and not in its own.
        Where a band is, `bands` tells of a unit that was mixed up.
        """
        new = {entry.id: entry for entry in self.entries}
        run = self.after.ledger.of_run(self.after.judgement.run)
        before = {_unit(one) for one in run.standing if one.id not in new} - {""}
        if not before:
            return tuple(_first_units(self))
        if len(before) != 1:
            return ()
        (usual,) = before
        banded = {one.input for one in self.bands}
        fresh = [one for one in self.entries if _unit(one) not in ("", usual)]
        told = [(str(one.payload.get("input", "")), one) for one in fresh]
        return tuple(
            f"{name} is typed in {_unit(one)}; every pressure before is in {usual}. "
            f"If {usual} was meant, correct it."
            for name, one in told
            if name not in banded
        )

    def amiss(self, units: UnitSet = METRIC) -> tuple[Finding, ...]:
        """Return what stands against *final* now and did not before, but what is told apart."""
        old = {_said(finding) for finding, by in against_final(self.before) if not by}
        found, plain = against_final(self.after, units), against_final(self.after)
        coming = {(step, one.input) for step, one in _bands(self) if one.is_on_way}
        remarks = [block.remark for block in self.after.judgement.blocks]
        on_way = {at for at, one in enumerate(remarks) if _comes(one, coming)}
        return tuple(
            finding
            for at, ((finding, by), (one, _)) in enumerate(zip(found, plain, strict=True))
            if not by and one.code not in TOLD_APART and _said(one) not in old and at not in on_way
        )

    def worth_knowing(self, units: UnitSet = METRIC) -> tuple[Finding, ...]:
        """Return what is worth knowing now and was not before."""
        old = {_said(finding) for finding in worth_knowing(self.before)}
        both = zip(worth_knowing(self.after, units), worth_knowing(self.after), strict=True)
        return tuple(
            new
            for new, one in both
            if one.code not in TOLD_APART
            and (one.code, one.params.get("why")) != BY_HAND
            and _said(one) not in old
        )

    @property
    def proofs(self) -> tuple[tuple[str, str, str], ...]:
        """Proofs that stand otherwise now: name, state before, state now."""
        before = {proof.name: proof.state for proof in self.before.judgement.proofs}
        return tuple(
            (proof.name, before.get(proof.name, "open"), proof.state)
            for proof in self.after.judgement.proofs
            if proof.state != before.get(proof.name, "open")
        )

    @property
    def items(self) -> tuple[tuple[str, str], ...]:
        """Things to be restored that stand otherwise now: name, state."""
        before = {item.name: item.state for item in self.before.judgement.items}
        return tuple(
            (item.name, item.state)
            for item in self.after.judgement.items
            if item.state != before.get(item.name, "not opened")
        )

    @property
    def fallen(self) -> tuple[str, ...]:
        """What the signatures asked for that stood before and do not stand any more: final, provisional."""
        now = {one.entry for one in self.after.judgement.signs if one.stands}
        return tuple(one.asks for one in self.before.judgement.signs if one.stands and one.entry not in now)

    @property
    def is_fine(self) -> bool:
        """Nothing new stands against *final*, and no proof was lost."""
        lost = any(now in ("stale", "refused") for _, _, now in self.proofs)
        return not self.amiss() and not lost


def entered_data(entered: Entered) -> dict[str, Any]:
    """Return what was entered and what it means as plain data."""
    return {
        "format": "steadyhead/entered/1",
        "entries": [
            {"number": entered.first + at, **plain_entry(entry)} for at, entry in enumerate(entered.entries)
        ],
        "bands": [
            {
                "input": one.input,
                "value": one.value,
                "low": one.low,
                "high": one.high,
                "inside": one.is_inside,
                "on_way": one.is_on_way,
            }
            for one in entered.bands
        ],
        "amiss": [finding_data(finding) for finding in entered.amiss()],
        "worth_knowing": [finding_data(finding) for finding in entered.worth_knowing()],
        "steps": [{"id": one.id, "state": one.state, "lacks": list(one.lacks)} for one in entered.steps],
        "proofs": [{"name": name, "before": old, "now": now} for name, old, now in entered.proofs],
        "items": [{"name": name, "now": now} for name, now in entered.items],
        "signatures_fallen": list(entered.fallen),
        "next": list(entered.after.judgement.next),
        "is_fine": entered.is_fine,
    }


def _unit(entry: Entry) -> str:
    """Return the unit a pressure was typed in; empty for another entry."""
    is_pressure = entry.kind == "reading" and entry.payload.get("quantity") == "pressure"
    return str(entry.payload.get("unit", "")) if is_pressure else ""


def _first_units(entered: Entered) -> Iterator[str]:
    """Yield words on pressures that can hardly stand where they were read, and could in another unit."""
    highest = {(one.step, one.input): one.high for one in entered.after.procedure.minding.ranges}
    for entry in entered.entries:
        name, unit, value = str(entry.payload.get("input", "")), _unit(entry), entry.payload.get("value")
        high = highest.get((entry.node, name))
        if high is None or unit not in (*MIXED_UP, "MPa") or not is_number(value):
            continue
        figure = from_si(float(value), "pressure", unit)
        if figure <= 0.0 or FAR_BELOW * high <= float(value) <= high:
            continue
        for other in MIXED_UP:
            if other != unit and FITS_FROM * high <= to_si(figure, "pressure", other) <= high:
                asks = f"{name} is typed in {unit}. Is that the unit?"
                yield f"{asks} In {other} it would fit: then correct it."
                break


def _said(finding: Finding) -> tuple[str, str, str]:
    told = tell(finding)
    return finding.code, finding.subject, told.statement


def _comes(remark: Remark, coming: set[tuple[str, str]]) -> bool:
    """Return whether a remark says no more than that a reading on its way is below its band."""
    return remark.code == OUTSIDE and (remark.about, str(remark.params.get("input", ""))) in coming


def _bands(entered: Entered) -> Iterator[tuple[str, Standing]]:
    """Yield step and value of each new entry that has a band."""
    run = entered.after
    record = lay(run.procedure, run.ledger.of_run(run.judgement.run).standing)
    steps = look(record)
    new = {entry.id: entry for entry in entered.entries}
    for state in entered.steps:
        step, raised = steps[state.id], _raised(run, state)
        kinds = {one.name: one.quantity for one in step.node.inputs}
        for name, band in step.bands.items():
            pick = step.chosen.get(name)
            if pick is None or not is_number(pick.value) or not any(r.entry.id in new for r in pick.rows):
                continue
            value, low, high = float(pick.value), band["low"], band["high"]
            comes = name in raised and low is not None and value < low
            one = Standing(name, kinds[name], value, low, high, is_on_way=comes)
            own = [new[row.entry.id] for row in pick.rows if row.entry.id in new]
            yield state.id, one if one.is_inside or comes else _perhaps(one, own, band)


def _raised(run: JudgedRun, state: StepState) -> tuple[str, ...]:
    """Return the inputs of a step a screw is raised to, while answers still lack and no stop rule fired."""
    is_advised = any(aim.step == state.id for aim in run.procedure.advice.aims)
    blocks = (block.remark for block in run.judgement.blocks if not block.accepted)
    stops = any(one.code == STOP_RULE and one.about == state.id for one in blocks)
    return feeds(state.id) if is_advised and state.lacks and not stops else ()


def _perhaps(one: Standing, entries: list[Entry], band: Band) -> Standing:
    """Name the unit in which a figure outside its band would lie inside it."""
    if one.quantity != "pressure" or len(entries) != 1:
        return one
    unit = str(entries[0].payload.get("unit", ""))
    if unit not in MIXED_UP:
        return one
    figure = from_si(one.value, "pressure", unit)
    if figure <= 0.0:
        return one
    for other in MIXED_UP:
        si = to_si(figure, "pressure", other)
        meant = Standing(one.input, one.quantity, si, band["low"], band["high"])
        if other != unit and meant.is_inside:
            return Standing(one.input, one.quantity, one.value, one.low, one.high, other)
    return one
