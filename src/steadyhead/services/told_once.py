"""What is amiss with a gauge told once per gauge and step, with its readings by number, for people to read.

The judge finds it at every reading, and each of them blocks; only the listing is folded.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain, repeat

from steadyhead.findings import Finding
from steadyhead.procedure.ledger import lines
from steadyhead.records.entry import Entry
from steadyhead.records.run import Remark
from steadyhead.services.running import JudgedRun, against_final, worth_knowing
from steadyhead.units import METRIC, UnitSet

UNFIT = "RUN-06"
OF_GAUGE = ("overdue", "no due date", "not described", "class not known", "measures another quantity")
"""Reasons that are the gauge's own: the same words at each of its readings."""

Told = tuple[Finding, str, Remark | None]
"""A finding, the deviation that accepts it, and the judge's remark it comes from."""


def against_final_once(run: JudgedRun, units: UnitSet = METRIC) -> tuple[Told, ...]:
    """Return what stands against *final*, as `against_final` does, a gauge once at each step."""
    remarks = (block.remark for block in run.judgement.blocks)
    pairs = zip(against_final(run, units), chain(remarks, repeat(None)), strict=False)
    return tuple(_once(run, [(finding, by, remark) for (finding, by), remark in pairs]))


def worth_knowing_once(run: JudgedRun, units: UnitSet = METRIC) -> tuple[Finding, ...]:
    """Return what is worth knowing, as `worth_knowing` does, a gauge once at each step."""
    pairs = zip(worth_knowing(run, units), chain(run.judgement.told, repeat(None)), strict=False)
    return tuple(
        finding for finding, _, _ in _once(run, [(finding, "", remark) for finding, remark in pairs])
    )


def _once(run: JudgedRun, told: Sequence[Told]) -> Iterator[Told]:
    alike: dict[tuple[object, ...], list[Told]] = {}
    for at, one in enumerate(told):
        alike.setdefault(_key(at, *one), []).append(one)
    numbers = _numbers(run) if len(alike) < len(told) else {}
    for same in alike.values():
        finding, by, remark = same[0]
        if len(same) > 1:
            finding = replace(finding, params={**finding.params, "input": _readings(same, numbers)})
        yield finding, by, remark


def _key(at: int, finding: Finding, by: str, remark: Remark | None) -> tuple[object, ...]:
    """Return what is the same for readings told as one; of anything else its place."""
    if remark is None or remark.code != UNFIT or remark.params.get("why") not in OF_GAUGE:
        return (at,)
    same = {name: value for name, value in remark.params.items() if name != "input"}
    return (remark.about, finding.severity, by, *sorted(same.items()))


def _readings(same: Sequence[Told], numbers: dict[str, int]) -> str:
    """Return the readings by number; by name where an entry has none."""
    ids = [one for _, _, remark in same if remark is not None for one in remark.entries]
    if not ids or any(one not in numbers for one in ids):
        return f"each of {_list([str(finding.params['input']) for finding, _, _ in same])}"
    return f"each of the readings {_list([str(one) for one in sorted({numbers[one] for one in ids})])}"


def _list(names: Sequence[str]) -> str:
    told = list(dict.fromkeys(names))
    return f"{', '.join(told[:-1])} and {told[-1]}" if len(told) > 1 else told[0]


def _numbers(run: JudgedRun) -> dict[str, int]:
    """Return the number of each entry in its file."""
    found = enumerate(lines(run.content), 1)
    return {line.id: number for number, line in found if isinstance(line, Entry)}
