"""Findings: what the house judged, as data; the words come from the catalogue."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding weighs; the first two forbid a release."""

    STOP = "stop"
    ASK = "ask"
    HEED = "heed"
    NOTE = "note"


SLIPS = "SLIP-"
"""How the codes of questions about slips of the hand begin."""

_WEIGHT = {Severity.STOP: 3, Severity.ASK: 2, Severity.HEED: 1, Severity.NOTE: 0}


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity inside a finding: kind of quantity and SI value; printed in the reader's units."""

    kind: str
    si: float


def pressure(si: float) -> Amount:
    """Return a gauge pressure [Pa] as an amount."""
    return Amount("pressure", si)


def flow(si: float) -> Amount:
    """Return a flow [m³/s] as an amount."""
    return Amount("flow", si)


@dataclass(frozen=True, slots=True)
class Input:
    """One value a finding rests on, with where it came from, for `why`."""

    label: str
    amount: Amount | str
    provenance: str = ""


Parameter = Amount | str | int | float


@dataclass(frozen=True, slots=True)
class Finding:
    """One judgement.

    Parameters
    ----------
    code
        Stable, never reused; a key of the catalogue.
    subject
        Path in the station file, or the thing judged.
    severity
        One of four words.
    params
        What the words of the catalogue are filled with.
    value, limit, margin
        The figure judged, what it is held against, and the room left (negative: none).
    case
        The design case in which it was found, e.g. ``lowest inlet, peak flow``.
    inputs
        What it rests on.
    """

    code: str
    subject: str
    severity: Severity
    params: Mapping[str, Parameter] = field(default_factory=dict)
    value: Amount | None = None
    limit: Amount | None = None
    margin: Amount | None = None
    case: str = ""
    inputs: tuple[Input, ...] = ()

    @property
    def value_hash(self) -> str:
        """Hash of what was judged, to four digits; an answer or acceptance falls away when it changes.

        Four digits are what a person reads. Further ones of a figure that was run in time are not the same
        on every machine.
        """
        amounts = [[a.kind, _digits(a)] for a in (self.value, self.limit) if a is not None]
        params = {k: _plain(v) for k, v in sorted(self.params.items())}
        stored = json.dumps([self.code, self.subject, amounts, params], ensure_ascii=False)
        return hashlib.sha256(stored.encode()).hexdigest()[:12]


def _plain(value: Parameter) -> object:
    if isinstance(value, Amount):
        return [value.kind, _digits(value)]
    return value


def _digits(amount: Amount) -> float:
    return float(f"{amount.si:.4g}")


def forbids_release(findings: Iterable[Finding]) -> bool:
    """Return whether any finding forbids a release (severity stop or an unanswered question)."""
    return any(f.severity in (Severity.STOP, Severity.ASK) for f in findings)


def what_forbids(stops: int, asks: int) -> str:
    """Return what forbids a release, counted in words; empty where nothing does.

    Examples
    --------
    >>> what_forbids(2, 1), what_forbids(0, 2), what_forbids(0, 0)
    ('2 stops and 1 open question', '2 open questions', '')
    """
    words = [f"{stops} stop{'' if stops == 1 else 's'}"] if stops else []
    words += [f"{asks} open question{'' if asks == 1 else 's'}"] if asks else []
    return " and ".join(words)


def most_serious(findings: Iterable[Finding]) -> Finding | None:
    """Return the weightiest finding, the first of equals, or None."""
    ranked = sorted(findings, key=lambda f: -_WEIGHT[f.severity])
    return ranked[0] if ranked else None


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings: open questions about slips first, then the weightiest, else as found.

    A slip of the hand explains the stops it causes, so it is read before them.
    """
    return tuple(sorted(findings, key=lambda f: (not _may_explain(f), -_WEIGHT[f.severity])))


def _may_explain(finding: Finding) -> bool:
    return finding.code.startswith(SLIPS) and finding.severity is Severity.ASK
