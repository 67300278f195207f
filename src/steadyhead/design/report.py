"""Small helpers that make findings: amounts with their kind, inputs with their provenance."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, floor

from steadyhead.findings import Amount, Finding, Input, Severity
from steadyhead.findings.model import Parameter
from steadyhead.records.ladder import Contribution
from steadyhead.records.values import Value

EVEN = 1e-9
"""What a figure may miss a tenth by and still be it, in tenths."""
STOP, ASK, HEED, NOTE = Severity.STOP, Severity.ASK, Severity.HEED, Severity.NOTE


def pressure(si: float) -> Amount:
    """Return a pressure [Pa] as an amount."""
    return Amount("pressure", si)


def seconds(si: float) -> Amount:
    """Return a time [s] as an amount."""
    return Amount("time", si)


def span(si: float) -> str:
    """Return a span of time in words a person uses: seconds below two minutes, else minutes."""
    return f"{si:.3g} s" if si < 120.0 else f"{si / 60.0:.3g} min"


def at_least(si: float) -> str:
    """Return the least time allowed in words, rounded up: what is read off it is never short of it.

    Examples
    --------
    >>> at_least(8.674), at_least(37.59), at_least(131.2)
    ('8.7 s', '37.6 s', '2.2 min')
    """
    return _rounded(si, ceil)


def at_most(si: float) -> str:
    """Return the most time allowed in words, rounded down.

    Examples
    --------
    >>> at_most(7.27), at_most(10.32), at_most(131.9)
    ('7.2 s', '10.3 s', '2.1 min')
    """
    return _rounded(si, floor)


def _rounded(si: float, inwards: Callable[[float], int]) -> str:
    unit, of = (1.0, "s") if si < 120.0 else (60.0, "min")
    return f"{inwards(10.0 * si / unit + (EVEN if inwards is floor else -EVEN)) / 10.0:.1f} {of}"


def flow(si: float) -> Amount:
    """Return a flow [m³/s] as an amount."""
    return Amount("flow", si)


def share(si: float) -> Amount:
    """Return a ratio as an amount that reads as per cent."""
    return Amount("ratio", si)


def from_value(label: str, value: Value) -> Input:
    """Return a value of the twin as an input of a finding."""
    return Input(label, Amount(value.kind, value.si), value.provenance)


def from_part(part: Contribution) -> Input:
    """Return one block of a stack as an input of a finding."""
    return Input(part.label, pressure(part.size), part.provenance)


def finding(
    code: str,
    subject: str,
    severity: Severity,
    *,
    value: Amount | None = None,
    limit: Amount | None = None,
    case: str = "",
    inputs: tuple[Input, ...] = (),
    upper: bool = True,
    **params: Parameter,
) -> Finding:
    """Return a finding; its margin is limit less value, or value less limit where `upper` is False."""
    margin = None
    if value is not None and limit is not None and value.kind == limit.kind:
        margin = Amount(value.kind, limit.si - value.si if upper else value.si - limit.si)
    return Finding(code, subject, severity, params, value, limit, margin, case, inputs)
