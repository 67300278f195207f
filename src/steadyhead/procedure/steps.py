"""Every step of a plan against the entries made at it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field

from steadyhead.procedure.agreeing import Band, Differs, differing, inside, is_settled
from steadyhead.procedure.clocks import doubts
from steadyhead.procedure.expression import Context, Entries, Scalar, Taken, evaluate, holds
from steadyhead.procedure.fitness import Unfit, is_answer, is_of, unfit
from steadyhead.procedure.grammar import banded, is_number, names
from steadyhead.procedure.graph import is_met, needed
from steadyhead.procedure.naming import refuses
from steadyhead.procedure.record import SOFT, Record, Row, taken
from steadyhead.records.procedure import Input, Node, Otherwise, Procedure, Refusal
from steadyhead.records.run import Remark


@dataclass(frozen=True, slots=True)
class Chosen:
    """What an input rests on: the entries, the place of the oldest and newest of them, the value."""

    value: Scalar
    oldest: int
    newest: int
    rows: tuple[Row, ...]


@dataclass
class Step:
    """One step as it is found.

    Parameters
    ----------
    way
        ``on``, ``off`` (another option was taken), ``waits`` (for a choice).
    given
        Entries of the right kind, by input.
    chosen
        What counts, by input.
    unfit
        Readings that are unfit for a proof; `counts`: it is the one that counts.
    mistyped
        Entries whose value is of another kind than asked.
    first_done
        Place of the entry with which everything had been noted once; None: never.
    base, latest
        Places of the oldest and the newest entry its proof rests on.
    unmet
        Steps that should have been done before and were not: with effect, and of paper only.
    uncovered
        Proofs it should have been begun under and was not (`steadyhead.procedure.shielding`).
    held
        What stood otherwise than it is to stand all through it (`steadyhead.procedure.holding`).
    """

    node: Node
    rows: tuple[Row, ...]
    way: str
    given: dict[str, list[Row]] = field(default_factory=dict)
    chosen: dict[str, Chosen] = field(default_factory=dict)
    unfit: list[tuple[str, Row, Unfit, bool]] = field(default_factory=list)
    mistyped: list[tuple[str, Row]] = field(default_factory=list)
    bands: Mapping[str, Band] = field(default_factory=dict)
    lacks: tuple[str, ...] = ()
    unnoted: tuple[str, ...] = ()
    fires: tuple[Otherwise, ...] = ()
    refusals: tuple[Refusal, ...] = ()
    outside: tuple[str, ...] = ()
    first_done: int | None = None
    base: int = -1
    latest: int = -1
    unmet: tuple[str, ...] = ()
    unmet_paper: tuple[str, ...] = ()
    uncovered: tuple[str, ...] = ()
    held: tuple[Remark, ...] = ()
    differs: Differs | None = None

    @property
    def begun(self) -> bool:
        """Whether anything was noted, read or done at it."""
        return any(row.entry.kind in ("reading", "observation", "action", "choice") for row in self.rows)

    @property
    def is_refused(self) -> bool:
        """Whether what was noted forbids to take it as done."""
        proves = bool(self.node.proves)
        return bool(
            self.refusals
            or self.uncovered
            or self.held
            or any(not one.tells for one in self.fires)
            or (proves and (self.unmet or any(counts for _, _, _, counts in self.unfit)))
        )


def ways(procedure: Procedure, choices: Mapping[str, str | None]) -> dict[str, str]:
    """Return for each step whether it is gone through: ``on``, ``off`` or ``waits``."""
    found = {node.id: "on" for node in procedure.nodes}
    for choice in procedure.choices:
        option = choices.get(choice.id)
        opened = {node for name, _, nodes in choice.options if name == option for node in nodes}
        for node in {node for _, _, nodes in choice.options for node in nodes}:
            if option is None and found[node] == "on":
                found[node] = "waits"
            elif option is not None and node not in opened:
                found[node] = "off"
    return found


def look(record: Record) -> dict[str, Step]:
    """Return every step of the plan as it is found, in the order of the plan."""
    way = ways(record.procedure, record.choices)
    steps = {
        node.id: Step(node, record.at(node.id), way[node.id], bands=bands_of(node, record.choices))
        for node in record.procedure.nodes
    }
    for step in steps.values():
        _sort(step, record)
    seen = _seen(record, steps)
    for step in steps.values():
        _judge(step, record, seen, steps)
    return steps


def bands_of(node: Node, choices: Mapping[str, str | None]) -> dict[str, Band]:
    """Return the bands that hold on this way; where several do, what they have in common."""
    found: dict[str, dict[str, float | None]] = {}
    for one in node.expect:
        if one.where is not None and choices.get(one.where[0]) != one.where[1]:
            continue
        if one.input not in found:
            found[one.input] = {"low": one.low, "high": one.high, "nominal": one.nominal}
            continue
        band = found[one.input]
        lows = [low for low in (band["low"], one.low) if low is not None]
        highs = [high for high in (band["high"], one.high) if high is not None]
        band["low"], band["high"] = max(lows, default=None), min(highs, default=None)
        band["nominal"] = one.nominal if band["nominal"] is None else band["nominal"]
    return dict(found)


def _sort(step: Step, record: Record) -> None:
    """Sort the entries of a step under its inputs; of each input take what counts."""
    photos = [row for row in step.rows if row.entry.kind == "photo"]
    by_input: dict[str, list[Row]] = {}
    for row in step.rows:
        by_input.setdefault(row.input, []).append(row)
    for one in step.node.inputs:
        right = photos
        if one.quantity != "photo":
            rows = by_input.get(one.name, [])
            right = [
                row
                for row in rows
                if is_answer(one, row)
                and not is_refusal(record, step.node, one, row)
                and (step.node.proves or is_of(one, row))
            ]
            fits = {row.at for row in right}
            step.mistyped += [(one.name, row) for row in rows if row.at not in fits]
        if right:
            step.given[one.name] = right
    beside = {one.quantity for one in step.node.inputs if one.name in step.given}
    for one in step.node.inputs:
        if one.name in step.given:
            _choose(step, one, record, beside)


def is_refusal(record: Record, node: Node, one: Input, row: Row, *, any_field: bool = False) -> bool:
    """Return whether a bare refusal stands where the plan asks in words who was told, or how it is sealed.

    any_field: whatever is asked in words; there *none* is what was found.
    """
    if one.quantity != "text":
        return False
    asked = f"{node.id} {one.name}" in record.procedure.minding.answers
    return (asked or any_field) and refuses(row.text("value"), empty=asked)


def _choose(step: Step, one: Input, record: Record, beside: set[str]) -> None:
    rows = step.given[one.name]
    if one.quantity == "photo" or not step.node.proves:
        problems: dict[int, tuple[Unfit, ...]] = {}
    else:
        problems = {row.at: unfit(one, row, record, beside) for row in rows}
    fit = [row for row in rows if all(each.tells for each in problems.get(row.at, ()))]
    row = (fit or rows)[-1]
    value = True if one.quantity == "photo" else row.entry.payload["value"]
    step.chosen[one.name] = Chosen(value, row.at, row.at, (row,))
    step.unfit += [(one.name, each, why, each is row) for each in rows for why in problems.get(each.at, ())]
    step.differs = step.differs or differing(one, rows, step.bands.get(one.name))


def _seen(record: Record, steps: Mapping[str, Step]) -> Entries:
    """Return what expressions see: everything but readings that an older or newer one stands in for."""
    hidden = set()
    for step in steps.values():
        for name, row, why, counts in step.unfit:
            if not counts and not why.tells and row.at != step.chosen[name].rows[0].at:
                hidden.add(row.at)
        hidden |= {row.at for _, row in step.mistyped}
    doubt = doubts(row.entry for row in record.rows)
    found = (taken(row, doubt) for row in record.rows if row.at not in hidden)
    return Entries(one for one in found if one is not None)


def _judge(step: Step, record: Record, seen: Entries, steps: Mapping[str, Step]) -> None:
    node = step.node
    context = Context(node.id, seen, step.bands, record.procedure.limits, record.instruments)
    for one in node.inputs:
        if one.worked is not None and one.name not in step.chosen:
            _work(step, one, context, seen, steps)
    needless = {one.name for one in node.inputs if one.unless is not None and holds(one.unless, context)}
    _fill(step, record, needless)
    _place(step, needless)
    if step.begun and step.way != "off":
        step.fires = tuple(one for one in node.otherwise if holds(one.when, context))
        step.refusals = tuple(one for one in node.refuses if holds(one.when, context))
        told = _told_of(step)
        step.outside = () if any(not one.tells for one in step.fires) else tuple(_outside(step, told))
        _too_early(step, steps)


def _work(step: Step, one: Input, context: Context, seen: Entries, steps: Mapping[str, Step]) -> None:
    value = evaluate(one.worked, context)
    if value is None:
        return
    parts = []
    for name in names(one.worked):
        node, wanted = (step.node.id, name) if isinstance(name, str) else name
        if node in steps and wanted in steps[node].chosen:
            parts.append(steps[node].chosen[wanted])
    if not parts:
        return
    rows = {row.at: row for part in parts for row in part.rows}
    oldest, newest = min(part.oldest for part in parts), max(part.newest for part in parts)
    step.chosen[one.name] = Chosen(value, oldest, newest, tuple(rows[at] for at in sorted(rows)))
    seen.append(Taken(step.node.id, one.name, value, rows[max(rows)].time, float(newest)))


def _fill(step: Step, record: Record, needless: set[str]) -> None:
    missing = [one for one in step.node.inputs if one.name not in step.chosen and one.name not in needless]
    ticked = any(row.do == "tick" for row in step.rows)
    soft = tuple(one.name for one in missing if one.quantity in SOFT)
    lacks = [one.name for one in missing if one.quantity not in SOFT or not ticked]
    if step.node.id in record.choices and record.choices[step.node.id] is None:
        lacks.insert(0, "@choice")
    if not step.node.inputs and step.node.id not in record.choices and not any(row.do for row in step.rows):
        lacks.append("@tick")
    step.lacks, step.unnoted = tuple(lacks), soft if ticked else ()


def _place(step: Step, needless: set[str]) -> None:
    """Say when everything had been noted once, and from where to where the entries reach that count."""
    hard = [one for one in step.node.inputs if one.quantity not in SOFT and one.name not in needless]
    asked = hard or [one for one in step.node.inputs if one.name in step.chosen]
    if asked and all(one.name in step.chosen for one in asked):
        picks = [step.chosen[one.name] for one in asked]
        firsts = [
            step.given[one.name][0].at if one.name in step.given else step.chosen[one.name].newest
            for one in asked
        ]
        step.first_done, step.base = max(firsts), min(pick.oldest for pick in picks)
        step.latest = max(pick.newest for pick in picks)
    elif not asked:
        acts = [row.at for row in step.rows if row.do or row.entry.kind == "choice"]
        if acts:
            step.first_done, step.base, step.latest = acts[0], acts[-1], acts[-1]
    if step.differs is not None and is_settled(step.differs, step.rows, step.base, len(asked)):
        step.differs = None


def _told_of(step: Step) -> frozenset[str]:
    """Return the inputs of which a remark that only tells says what they mean.

    Such are those it holds against their band, and the one it looks at where it looks at no other.
    """
    asked = {one.name for one in step.node.inputs}
    found: set[str] = set()
    for one in step.fires:
        if one.tells:
            looked = asked & names(one.when)
            found |= looked if len(looked) == 1 else looked & banded(one.when)
    return frozenset(found)


def _outside(step: Step, told: Collection[str]) -> Iterable[str]:
    """Yield the inputs read outside their band after which nobody wrote what was seen and agreed."""
    answers = [row.at for row in step.rows if row.entry.kind in ("note", "deviation")]
    for name, band in step.bands.items():
        pick = step.chosen.get(name)
        if name in told or pick is None or not is_number(pick.value) or inside(pick.value, band):
            continue
        if not any(at > pick.newest for at in answers):
            yield name


def _too_early(step: Step, steps: Mapping[str, Step]) -> None:
    """Note which needs were not met when it was done.

    They bind where the step raises a pressure and they have an effect on the station; elsewhere the order is
    that of the paper, and another one is only told.
    """
    start = step.base if step.node.proves else min(row.at for row in step.rows)
    if start < 0 or step.way != "on":
        return
    before = {
        other.node.id for other in steps.values() if other.first_done is not None and other.first_done < start
    }
    if is_met(step.node.needs, before):
        return
    paper = {other for other in needed(step.node.needs) if not _acts(steps[other].node)}
    late = [other for other in needed(step.node.needs) if other not in before and steps[other].way == "on"]
    if step.node.raises and not is_met(step.node.needs, before | paper):
        step.unmet = tuple(other for other in late if other not in paper)
    else:
        step.unmet_paper = tuple(late)


def _acts(node: Node) -> bool:
    return bool(node.proves or node.touches or node.opens or node.raises)
