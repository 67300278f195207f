"""Measurements as RFC 8428 writes them (SenML): base fields hold for the records behind them."""

from __future__ import annotations

from typing import Any

Numbered = list[tuple[int, dict[str, Any]]]
BASES = ("bn", "bt", "bu", "bv")
VALUES = ("v", "vs", "vb")
FROM_NOW = 1 << 28
"""Times below this count from now (RFC 8428, 4.5.3)."""


def resolved(records: Numbered) -> Numbered:
    """Return records with their base name, time, unit and value put in; others than SenML as they are."""
    if not any(set(one) & set(BASES[:3]) for _, one in records):
        return records
    if not all("n" in one or "bn" in one for _, one in records):
        return records
    bases: dict[str, Any] = {}
    out: Numbered = []
    for at, one in records:
        bases |= {key: one[key] for key in BASES if key in one}
        if (made := _record(one, bases)) is not None:
            out.append((at, made))
    return out


def _record(one: dict[str, Any], bases: dict[str, Any]) -> dict[str, Any] | None:
    value = next((one[key] for key in VALUES if key in one), None)
    if value is None:
        return None
    time = _number(bases.get("bt")) + _number(one.get("t"))
    if "vb" not in one and "bv" in bases and isinstance(value, int | float):
        value = value + _number(bases["bv"])
    made = {"name": one.get("n") or bases.get("bn", ""), "unit": one.get("u") or bases.get("bu", "")}
    return made | {"time": time, "value": value} if time >= FROM_NOW else None


def _number(value: Any) -> float:
    try:
        return float(value or 0.0)
    except (TypeError, ValueError):
        return 0.0
