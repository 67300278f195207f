"""The design sheet as plain data: names end in the unit, floats rounded to nine significant digits (A2)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from math import isfinite
from typing import Any

from steadyhead.findings import Amount, Finding, Input
from steadyhead.records.design import DesignSheet

DIGITS = 9
UNIT_SUFFIX: Mapping[str, str] = {
    "pressure": "pa",
    "flow": "m3_s",
    "leak": "m3_s",
    "length": "m",
    "size": "m",
    "temperature": "k",
    "time": "s",
    "volume": "m3",
    "velocity": "m_s",
    "ratio": "1",
    "turns": "turns",
    "flow_coefficient": "kv",
    "pressure_per_turn": "pa_turn",
    "compressibility": "1_pa",
    "area": "m2",
    "loss_factor": "pa_s2_m6",
}
"""Ending of a name by kind of quantity."""

_PA = (
    "duty",
    "lockup",
    "gap",
    "trip",
    "overshoot",
    "normal_limit",
    "fault_limit",
    "needed",
    "alarm",
    "alarm_error",
    "reset",
    "size_pa",
    "tolerance_low",
    "tolerance_up",
    "lowest",
    "highest",
    "width",
    "trip_lower_edge",
    "trip_upper_edge",
    "peak",
    "highest_normal",
    "lowest_normal",
    "normal_local",
    "fault_local",
    "normal_at_datum",
    "fault_at_datum",
    "supply_pressure",
    "inlet_pressure",
    "outlet_pressure",
    "chamber_pressure",
    "consumer_end",
    "residual",
    "taps",
    "spring_low",
    "spring_high",
    "spring_reach",
    "loss",
    "span",
    "error",
    "error_allowed",
    "gain",
    "relief_crack",
    "relief_error",
    "heated",
)
_FLOW = ("flow", "consumer_flow", "drains", "lowest_flow", "lowest_flow_band", "quiet_band")
_OWN_ENDING = {
    **dict.fromkeys(_PA, "pa"),
    **dict.fromkeys(_FLOW, "m3_s"),
    **dict.fromkeys(("within", "closing_time", "covers_slower_than"), "s"),
    **dict.fromkeys(("level", "bore", "size", "inlet_pipe", "outlet_pipe"), "m"),
    **dict.fromkeys(("required_kv", "available_kv", "available_kv_spread", "kv"), "m3_h_bar"),
    **dict.fromkeys(("velocity", "fire_velocity"), "m_s"),
    "fire_loss": "pa",
}
_LEFT_OUT = {("Steady", "nodes")}
_BY_RECORD = {
    ("Contribution", "size"): "pa", ("PipeSizing", "limit"): "m_s", ("LossSizing", "limit"): "pa",
    ("ReliefSizing", "crack"): "pa", ("ReliefSizing", "full"): "pa", ("ReliefSizing", "reseat"): "pa",
    ("ReliefSizing", "latest_crack"): "pa", ("ReliefSizing", "latest_peak"): "pa",
    ("ReliefSizing", "failed_open_flow"): "m3_s", ("ReliefSizing", "passes"): "m3_s",
    ("Handover", "outlet"): "pa",
    ("SidePeak", "peak"): "pa_at_datum", ("SidePeak", "rebound"): "pa_at_datum",
    ("SidePeak", "rebound_least"): "pa_at_datum",
    ("SidePeak", "begun"): "pa_at_datum", ("SidePeak", "limit"): "pa_at_datum",
    ("Low", "pressure"): "pa", ("Low", "at_highest"): "pa", ("Low", "cavity"): "m3",
    ("ProofCase", "trip_after"): "s",
    ("ProofCase", "switch_after"): "s", ("ProofCase", "shut_after"): "s", ("ProofCase", "until"): "s",
    ("ProofCase", "flow"): "", ("Stroke", "inlet"): "pa", ("Stroke", "outlet"): "pa",
    ("WindowEdge", "needle_kv"): "m3_h_bar", ("WindowEdge", "worst_time"): "s",
    ("WindowEdge", "stopwatch"): "s", ("WindowEdge", "flow"): "", ("NeedleWindow", "needle_kv"): "m3_h_bar",
    ("NeedleWindow", "stopwatch"): "s", ("RemedyStep", "value"): "si", ("RemedyStep", "crack"): "pa",
    ("Protection", "trip_edge"): "pa", ("Protection", "closing_times"): "s",
}  # fmt: skip


def rounded(number: float) -> float | None:
    """Return a float with nine significant digits; None for one that is not finite.

    >>> rounded(123456.7890123), rounded(float("inf"))
    (123456.789, None)
    """
    return float(f"{number:.{DIGITS}g}") if isfinite(number) else None


def sheet_json(sheet: DesignSheet) -> dict[str, Any]:
    """Return the sheet as maps, lists, text, numbers, true, false and null."""
    found: dict[str, Any] = {"format": "steadyhead/design-sheet/1", **_record(sheet)}
    found["releasable"] = sheet.releasable
    return found


def _record(one: Any) -> dict[str, Any]:
    kind = type(one).__name__
    found: dict[str, Any] = {}
    for item in fields(one):
        if (kind, item.name) not in _LEFT_OUT:
            found[_name(kind, item.name)] = plain(getattr(one, item.name))
    return found


def _name(kind: str, name: str) -> str:
    ending = _BY_RECORD.get((kind, name), _OWN_ENDING.get(name))
    return f"{name}_{ending}" if ending else name


def plain(value: Any) -> Any:
    """Return any value of a sheet as plain data."""
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, str):
        return value
    if isinstance(value, float):
        return rounded(value)
    if isinstance(value, Finding):
        return finding_json(value)
    if isinstance(value, Input):
        return _input_json(value)
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [plain(inner) for inner in value]
    if is_dataclass(value):
        return _record(value)
    raise TypeError(f"{type(value).__name__} has no place in a sheet")


def finding_json(one: Finding) -> dict[str, Any]:
    """Return a finding as plain data; each amount under a name that ends in its unit."""
    found: dict[str, Any] = {
        "code": one.code,
        "subject": one.subject,
        "severity": one.severity.value,
        "case": one.case,
        "value_hash": one.value_hash,
        "params": {},
        "inputs": [_input_json(item) for item in one.inputs],
    }
    for name in ("value", "limit", "margin"):
        amount = getattr(one, name)
        if amount is not None:
            found.update(_amount_json(name, amount))
    for name, param in one.params.items():
        found["params"].update(
            _amount_json(name, param) if isinstance(param, Amount) else {name: plain(param)}
        )
    return found


def _amount_json(name: str, amount: Amount) -> dict[str, Any]:
    return {f"{name}_{UNIT_SUFFIX[amount.kind]}": rounded(amount.si)}


def _input_json(item: Input) -> dict[str, Any]:
    found: dict[str, Any] = {"label": item.label, "provenance": item.provenance}
    if isinstance(item.amount, Amount):
        found.update(_amount_json("value", item.amount))
    else:
        found["value"] = item.amount
    return found
