"""The proof score of a judged run: which strings, knots and bars are shown, in which words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from steadyhead.findings import Severity, tell
from steadyhead.procedure.record import Record, lay
from steadyhead.procedure.steps import Step, look
from steadyhead.procedure.touching import Touch, owner, rests_of, things, touches
from steadyhead.records.entry import Entry, zone_minutes
from steadyhead.records.proof_score import BarState, Knot, KnotKind, ProofScore, ScoreBar, ScoreString
from steadyhead.records.run import ProofState
from steadyhead.services.page_words import plan_words
from steadyhead.services.running import JudgedRun, against_final
from steadyhead.services.running_words import Speaker
from steadyhead.services.visits_kept.figures_left import as_left
from steadyhead.services.visits_kept.run_gist import thing_words
from steadyhead.units import METRIC, UnitSet

MOST_BARS, MOST_STRINGS = 12, 18
"""What is drawn at the most; the table has the rest. Own choice, by what an eye still follows. [1]"""
_STATES: Mapping[str, BarState] = {
    "valid": "stands",
    "stale": "stale",
    "refused": "refused",
    "open": "open",
    "accepted": "accepted",
}
_RANK = {"stale": 0, "refused": 1, "open": 3, "stands": 4, "accepted": 4}
UNPROVED = "RUN-50"
"""Code of a touch that no proof on this way proves again."""
_TELLING = ("trip", "crack", "lockup", "duty", "told", "tight")
"""Proofs that say most, by their last word: shown first among those that stand."""


@dataclass(frozen=True, slots=True)
class _Proof:
    """A proof of the run with all that is drawn of it."""

    bar: ScoreBar
    rests: frozenset[str]
    broken_by: str = ""
    is_vital: bool = False


def score_of(run: JudgedRun, units: UnitSet = METRIC) -> ProofScore:
    """Return the proof score of a judged run.

    What does not stand comes first, then what no deviation makes good; things never touched that carry the
    same proofs share one string.
    """
    ledger = run.ledger.of_run(run.judgement.run)
    record = lay(run.procedure, ledger.standing)
    steps, touched = look(record), touches(record)
    speaker = Speaker(run.procedure, run.ledger, units)
    entries = {entry.id: entry for entry in ledger.standing}
    every = _proofs(run, record, steps, entries, speaker, units)
    shown = _chosen(_together(every))
    rests = {proof.bar.name: proof.rests for proof in shown}
    beside = _beside(run)
    knots = list(_knots(touched, frozenset().union(*rests.values()), shown, beside))
    amiss = frozenset().union(*(one.rests for one in shown if one.bar.state in ("stale", "refused")))
    rests |= {"": frozenset(one.string for one in knots if one.kind == "strikes")}
    strings, string_of = _strings(rests, {one.string for one in knots}, amiss, speaker)
    kept = {one.id for one in strings}
    moved = [replace(one, string=string_of[one.string]) for one in knots if string_of[one.string] in kept]
    times = [entry.time for entry in ledger.standing if entry.kind not in ("run", "person", "instrument")]
    times = times or [entry.time for entry in ledger.standing]
    first = next(iter(ledger.standing), None)
    return ProofScore(
        name=run.procedure.station_name,
        moment=f"visit of {first.clock:%-d %b %Y}" if first else "",
        zone=zone_minutes(first.t_device) if first else 0,
        begin=min(times, default=0.0),
        end=max(times, default=0.0),
        strings=strings,
        knots=tuple(_named_once(moved)),
        bars=tuple(_strung(proof, string_of, kept) for proof in shown),
        left_out=_left_out(every, shown),
    )


def table_of(run: JudgedRun, units: UnitSet = METRIC) -> tuple[ScoreBar, ...]:
    """Return every proof on the way of a run, in the order of the plan; `rests` names things, not strings."""
    ledger = run.ledger.of_run(run.judgement.run)
    record = lay(run.procedure, ledger.standing)
    speaker = Speaker(run.procedure, run.ledger, units)
    entries = {entry.id: entry for entry in ledger.standing}
    found = _proofs(run, record, look(record), entries, speaker, units)
    return tuple(
        replace(one.bar, rests=tuple(plain_name(name, speaker) for name in sorted(one.rests)))
        for one in found
    )


def _proofs(
    run: JudgedRun,
    record: Record,
    steps: Mapping[str, Step],
    entries: Mapping[str, Entry],
    speaker: Speaker,
    units: UnitSet,
) -> list[_Proof]:
    rests, known = rests_of(steps), things(run.procedure)
    left = as_left(run, units)
    refused = _refusals(run, units)
    found = []
    for proof in run.judgement.proofs:
        state = _STATES.get(proof.state)
        if state is None:
            continue
        breaking = _breaking(proof, entries) if state == "stale" else None
        at = proof.at if proof.at is not None else _gained(proof, steps, breaking)
        thing = str(proof.because[0].params.get("thing", "")) if breaking is not None else ""
        says, because = _says(proof, state, breaking, speaker, refused)
        bar = ScoreBar(
            name=proof.name,
            words=plain_name(proof.name, speaker),
            detail=left.get(proof.name, "") if state in ("stands", "stale", "accepted") else "",
            state=state,
            at=at if state != "open" else None,
            until=breaking.time if breaking is not None else None,
            broken_on=thing,
            rests=(),
            steps=proof.steps,
            says=says,
            because=because,
        )
        own = frozenset().union(*(rests.get(step, frozenset()) for step in proof.steps)) & known
        vital = proof.name in run.procedure.never
        found.append(_Proof(bar, own, breaking.id if breaking else "", vital))
    return found


def plain_name(name: str, speaker: Speaker) -> str:
    """Return what a proof or a thing is called, without its name in the plan."""
    return thing_words(speaker.name(name), name)


def _breaking(proof: ProofState, entries: Mapping[str, Entry]) -> Entry | None:
    """Return the entry by which a proof went stale; of several the first."""
    ids = [remark.entries[-1] for remark in proof.because if remark.entries]
    return min((entries[one] for one in ids if one in entries), key=lambda one: one.order, default=None)


def _gained(proof: ProofState, steps: Mapping[str, Step], breaking: Entry | None) -> float | None:
    """Return when a proof that does not stand was read, before what broke it. [s]"""
    times = [
        row.time
        for name in proof.steps
        for pick in steps[name].chosen.values()
        for row in pick.rows
        if breaking is None or row.time <= breaking.time
    ]
    return max(times, default=None)


def _refusals(run: JudgedRun, units: UnitSet) -> dict[str, tuple[str, str]]:
    """Return for each step that something stands against what is told of it, and the remedy."""
    found: dict[str, tuple[str, str]] = {}
    for (finding, by), block in zip(against_final(run, units), run.judgement.blocks, strict=False):
        if not by and block.remark.about not in found:
            told = tell(finding, units)
            found[block.remark.about] = (plan_words(told.statement), plan_words(told.cure))
    return found


def _says(
    proof: ProofState,
    state: BarState,
    breaking: Entry | None,
    speaker: Speaker,
    refused: Mapping[str, tuple[str, str]],
) -> tuple[str, str]:
    if state == "stands":
        return "Stands.", ""
    if state == "accepted":
        return "Accepted as it is, by a recorded deviation.", ""
    if state == "open":
        return "Open.", f"Steps {', '.join(proof.steps)}." if proof.steps else ""
    if state == "stale":
        touched = dict.fromkeys(
            plain_name(str(remark.params["thing"]), speaker)
            for remark in proof.because
            if "thing" in remark.params
        )
        since = f" since {breaking.clock:%-d %b %H:%M}" if breaking is not None else ""
        by = f": {_did(breaking)}" if breaking is not None and _did(breaking) else ""
        who = f", by {breaking.who}" if breaking is not None and breaking.who else ""
        why = (
            f"Touched after its proof: {', '.join(touched)}{by}{who}."
            if touched
            else _because(proof, speaker)
        )
        return f"Stale{since}.", why
    told = next((refused[step] for step in (*proof.steps, proof.name) if step in refused), None)
    return (told[0], "") if told else ("Refused.", _because(proof, speaker))


def _because(proof: ProofState, speaker: Speaker) -> str:
    said = [tell(speaker.finding(remark, Severity.HEED)).statement for remark in proof.because[:1]]
    return said[0] if said else ""


def _did(entry: Entry) -> str:
    """Return what an act says, in few words: *lower ¼ turn*."""
    if entry.kind == "position":
        return f"said to stand {entry.payload.get('is', '')}".strip()
    do, amount = str(entry.payload.get("do", "")), entry.payload.get("amount")
    if do == "tick":
        return ""
    if isinstance(amount, int | float) and not isinstance(amount, bool):
        unit = str(entry.payload.get("unit", ""))
        unit = unit.removesuffix("s") if amount <= 1.0 else unit
        return f"{do} {_turns(float(amount))} {unit}".strip()
    return do


def _turns(amount: float) -> str:
    """Return a count of turns as people write it.

    Examples
    --------
    >>> _turns(0.25), _turns(2.5), _turns(3.0), _turns(0.1)
    ('¼', '2½', '3', '0.1')
    """
    whole, part = divmod(amount, 1.0)
    shown = {0.25: "¼", 0.5: "½", 0.75: "¾"}.get(round(part, 3))
    return f"{int(whole) or ''}{shown}" if shown else f"{amount:g}"


def _together(proofs: Sequence[_Proof]) -> list[_Proof]:
    """Return the proofs, those of one part that fell by one act as one bar."""
    groups: dict[tuple[str, ...], list[_Proof]] = {}
    for proof in proofs:
        bar = proof.bar
        key = (owner(bar.name), "stale", proof.broken_by) if bar.state == "stale" else (bar.name,)
        groups.setdefault(key, []).append(proof)
    return [_as_one(group) for group in groups.values()]


def _as_one(group: Sequence[_Proof]) -> _Proof:
    first = min(group, key=lambda one: _tells(one.bar.name))
    if len(group) == 1:
        return first
    others = [one.bar.words for one in group if one is not first]
    times = [one.bar.at for one in group if one.bar.at is not None]
    detail = f"{first.bar.detail}, " if first.bar.detail else ""
    bar = replace(
        first.bar,
        at=max(times, default=None),
        detail=f"{detail}and {len(others)} more of {owner(first.bar.name)}",
        steps=tuple(dict.fromkeys(step for one in group for step in one.bar.steps)),
    )
    rests = frozenset().union(*(one.rests for one in group))
    return _Proof(bar, rests, first.broken_by, any(one.is_vital for one in group))


def _tells(name: str) -> int:
    last = name.partition("@")[0].rpartition(".")[2]
    return _TELLING.index(last) if last in _TELLING else len(_TELLING)


def _chosen(proofs: Sequence[_Proof]) -> list[_Proof]:
    """Return the proofs that are drawn: what is amiss first, then the newest."""

    def weight(proof: _Proof) -> tuple[int, int]:
        return _RANK[proof.bar.state], 0 if proof.is_vital else 1 + _tells(proof.bar.name)

    picked = [one for one in proofs if one.bar.state != "open" or one.is_vital]
    picked = sorted(picked, key=weight)[:MOST_BARS]
    return sorted(picked, key=lambda one: (_RANK[one.bar.state], -(one.bar.at or 0.0)))


def _beside(run: JudgedRun) -> frozenset[tuple[str, str]]:
    """Return entry and thing of each touch that no proof on this way proves again."""
    blocks = (block.remark for block in run.judgement.blocks if not block.accepted)
    return frozenset((entry, one.about) for one in blocks if one.code == UNPROVED for entry in one.entries)


def _knots(
    touched: Iterable[Touch], of: frozenset[str], shown: Sequence[_Proof], beside: frozenset[tuple[str, str]]
) -> Iterable[Knot]:
    """Yield the touches of things that proofs shown rest on, and those that nothing proves again."""
    breaking = {(one.broken_by, one.bar.broken_on) for one in shown if one.broken_by}
    for touch in touched:
        entry = touch.row.entry
        did = _did(entry) if entry.kind in ("action", "position") else ""
        for thing in sorted(touch.things):
            kind: KnotKind = "touch"
            if (entry.id, thing) in beside:
                kind = "strikes"
            elif (entry.id, thing) in breaking:
                kind = "slips"
            if thing in of or kind == "strikes":
                yield Knot(thing, entry.time, did, kind, entry.who)


def _named_once(knots: Sequence[Knot]) -> Iterable[Knot]:
    """Yield the knots in order; of those of one string within a minute only one, the weightiest."""
    last: dict[str, Knot] = {}
    for knot in sorted(knots, key=lambda one: (one.string, one.at, one.kind == "touch")):
        before = last.get(knot.string)
        if before is not None and knot.at - before.at < 60.0 and knot.kind == "touch":
            continue
        last[knot.string] = knot
        yield knot


def _strings(
    rests: Mapping[str, frozenset[str]], knotted: set[str], amiss: frozenset[str], speaker: Speaker
) -> tuple[tuple[ScoreString, ...], dict[str, str]]:
    """Return the strings from the top down, and for each thing the string it lies on."""
    every = sorted(set().union(*rests.values())) if rests else []
    bundles: dict[tuple[object, ...], list[str]] = {}
    for thing in every:
        carries = frozenset(name for name, own in rests.items() if thing in own)
        key = (thing,) if thing in knotted else (owner(thing), carries)
        bundles.setdefault(key, []).append(thing)
    of = {thing: group[0] for group in bundles.values() for thing in group}
    weights = {
        group[0]: (
            group[0] not in knotted,
            group[0] not in amiss,
            -max(sum(one in own for own in rests.values()) for one in group),
        )
        for group in bundles.values()
    }
    kept = sorted(weights, key=lambda one: (weights[one], one))[:MOST_STRINGS]
    words = {group[0]: _bundle(group, speaker) for group in bundles.values()}
    order = sorted(kept, key=lambda one: (one not in knotted, owner(one), one))
    return tuple(ScoreString(one, words[one]) for one in order), of


def _bundle(group: Sequence[str], speaker: Speaker) -> str:
    said = [plain_name(one, speaker) for one in group]
    if len(said) == 1:
        return said[0]
    part = owner(group[0])
    bare = [one.removesuffix(f" of {part}").removesuffix(f" of the {part}") for one in said]
    few = ", ".join(bare[:2])
    more = f" and {len(bare) - 2} more" if len(bare) > 2 else ""
    return f"{part}: {few}{more}" if part else f"{few}{more}"


def _strung(proof: _Proof, string_of: Mapping[str, str], kept: set[str]) -> ScoreBar:
    rests = tuple(dict.fromkeys(string_of[one] for one in sorted(proof.rests) if string_of[one] in kept))
    on = string_of.get(proof.bar.broken_on, "")
    return replace(proof.bar, rests=rests, broken_on=on if on in kept else "")


def _left_out(every: Sequence[_Proof], shown: Sequence[_Proof]) -> str:
    count = len(every) - sum(len({one.bar.name for one in _members(every, bar)}) for bar in shown)
    return (
        f"{count} more {'proof stands' if count == 1 else 'proofs'} in the table below the picture."
        if count > 0
        else ""
    )


def _members(every: Sequence[_Proof], shown: _Proof) -> list[_Proof]:
    if shown.bar.state != "stale":
        return [one for one in every if one.bar.name == shown.bar.name]
    part = owner(shown.bar.name)
    return [one for one in every if one.broken_by == shown.broken_by and owner(one.bar.name) == part]
