"""What was found amiss on the way, and what became of it: readings that failed and were taken again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.judging import judge
from steadyhead.procedure.record import Row
from steadyhead.procedure.steps import Step
from steadyhead.records.certificate import Earlier, Failure
from steadyhead.records.entry import Entry
from steadyhead.records.run import Remark
from steadyhead.visits.certifying.answers import forbidden
from steadyhead.visits.certifying.papers import after
from steadyhead.visits.certifying.seen import Seen, in_words, kept, moment

ENDING = ".as_found"


def failures(seen: Seen) -> tuple[Failure, ...]:
    """Return every reading outside its band and every answer that stops a step, with what came after.

    A reading that was taken again and passed is among them: it failed, and somebody did something about it.
    """
    found = [
        (row.at, _failure(seen, step, name, row, rows[index + 1 :]))
        for step in seen.on_way()
        for name, rows in step.given.items()
        for index, row in enumerate(rows)
        if fails(step, name, row)
    ]
    return tuple(one for _, one in sorted(found, key=lambda pair: pair[0]))


def fails(step: Step, name: str, row: Row) -> bool:
    """Say whether one entry alone lies outside its band, or is the answer that stops the step."""
    value = row.entry.payload.get("value")
    if isinstance(value, bool):
        return forbidden(step.node, name) is value
    return is_number(value) and not _inside(float(value), step.bands.get(name, {}))


def _inside(value: float, band: Mapping[str, float | None]) -> bool:
    low, high = band.get("low"), band.get("high")
    return (low is None or value >= low) and (high is None or value <= high)


def _failure(seen: Seen, step: Step, name: str, row: Row, later: list[Row]) -> Failure:
    asked = next(one for one in step.node.inputs if one.name == name)
    band = step.bands.get(name, {})
    value = row.entry.payload["value"]
    noted = seen.as_noted(
        row, value if isinstance(value, bool) else kept(float(value)), asked.quantity, asked.tap
    )
    label = f"{step.node.id}/{name}"
    return Failure(
        step.node.id,
        seen.word(label) if label in seen.procedure.names else name,
        noted,
        band.get("low"),
        band.get("high"),
        " ".join(_then(seen, step, name, row, later)),
        any(part.endswith(ENDING) for part in step.node.proves),
    )


def _then(seen: Seen, step: Step, name: str, row: Row, later: list[Row]) -> Iterator[str]:
    """Yield what came after a failed reading: read again, noted, accepted, or nothing."""
    good = next((one for one in later if not fails(step, name, one)), None)
    notes = [one for one in step.rows if one.entry.kind in ("note", "deviation") and one.at > row.at]
    if good is not None:
        yield f"Read again {_when(good.entry)}: {_value(seen, good, row)}."
    elif later:
        yield f"Read again {_when(later[-1].entry)}, outside once more."
    touched = [
        one
        for one in seen.record.rows
        if one.do and one.do != "tick" and row.at < one.at < (good.at if good else row.at)
    ]
    if touched:
        yield f"Between: {', '.join(dict.fromkeys(_act(one) for one in touched))}."
    if notes:
        words = notes[0].text("text") or notes[0].text("what")
        yield f"Noted: {words}"
    accepted = next(
        (
            block.accepted
            for block in seen.judgement.blocks
            if block.remark.about == step.node.id and block.accepted
        ),
        "",
    )
    if accepted:
        yield f"Accepted as a deviation, entry {accepted}."
    if not (later or notes or accepted):
        yield "Nothing is recorded after it."


def _act(row: Row) -> str:
    return f"{row.do} {row.text('thing')}".strip()


def _when(entry: Entry) -> str:
    return moment(entry)[:16].replace("T", " ")


def _value(seen: Seen, row: Row, like: Row) -> str:
    value = row.entry.payload["value"]
    noted = seen.as_noted(row, value if isinstance(value, bool) else kept(float(value)))
    quantity = noted.quantity or like.text("quantity")
    return in_words(noted.value, quantity, seen.units)


NO_FAILURES = ("RUN-07", "RUN-10", "RUN-13")
"""Remarks that say a thing was not yet done, in another order, or not yet put back: nothing failed."""


def earlier(seen: Seen) -> tuple[Earlier, ...]:
    """Return what had failed when somebody signed too early, and how it stands now.

    The run is judged once more as it stood at each signature that was followed by other entries.
    """
    return tuple(
        one
        for row in seen.record.rows
        if row.entry.kind == "sign" and after(seen, row.entry)
        for one in _then_failed(seen, row.entry)
    )


def _then_failed(seen: Seen, sign: Entry) -> Iterator[Earlier]:
    forms = tuple(entry for entry in seen.mine.forms if entry.order <= sign.order)
    stood = judge(seen.procedure, replace(seen.mine, forms=forms))
    told: set[str] = set()
    for block in stood.blocks:
        if block.remark.code not in NO_FAILURES and block.remark.about not in told:
            told.add(block.remark.about)
            yield Earlier(moment(sign), sign.who, seen.told(block.remark), _now(seen, block.remark))


def _now(seen: Seen, remark: Remark) -> str:
    """Return how what was remarked stands at the end of the run."""
    still = [one for one in seen.judgement.blocks if one.remark.about == remark.about]
    if still:
        return "accepted as a deviation" if all(one.accepted for one in still) else "still stands"
    proof = next((one for one in seen.judgement.proofs if one.name == remark.about), None)
    step = next((one for one in seen.judgement.steps if one.id == remark.about), None)
    time = proof.at if proof is not None else step.last if step is not None else None
    if time is None:
        return "put right"
    near = min(seen.mine.entries, key=lambda entry: abs(entry.time - time))
    return f"put right, {'proved' if proof is not None else 'done'} again {_when(near)} by {near.who}"
