"""A judgement as plain data: what the judge in the browser gives for the same plan and entries."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

from steadyhead.procedure.plain import message_data
from steadyhead.records.procedure import Message
from steadyhead.records.run import Judgement


def plain_judgement(judgement: Judgement) -> dict[str, Any]:
    """Return a judgement as maps, lists, text and numbers, with ``is_final`` beside its fields."""
    data: dict[str, Any] = _plain(judgement)
    return {**data, "is_final": judgement.is_final}


def _plain(value: Any) -> Any:
    if isinstance(value, Message):
        return message_data(value)
    if is_dataclass(value):
        return {one.name: _plain(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    return value
