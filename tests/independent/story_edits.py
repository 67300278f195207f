"""Breaches of the handbook put into clean site stories by rule and place: what they are made with."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Any

from tests.independent.story_innocents import Row, Story

Hit = tuple[tuple[str, ...], list[int], bool]
Break = Callable[[Story, Random], Hit | None]


@dataclass(frozen=True)
class Breached:
    """A story with one breach: rules that name it, entries that show it, whether final must be refused."""

    name: str
    story: Story
    rules: tuple[str, ...]
    entries: list[int]
    refused: bool


def of(story: Story, *nodes: str) -> list[Row]:
    """Entries of these steps."""
    return [r for r in story["entries"] if r["node"].split(".")[0] in nodes]


def reads(row: Row, tap: str = "") -> list[dict[str, Any]]:
    """Readings of an entry, of one tap."""
    return [r for r in row.get("readings") or [] if not tap or r["tap"].startswith(tap)]


def runs(story: Story) -> list[Row]:
    """Entries with a run to the trip."""
    return [
        r
        for r in story["entries"]
        if any("trip" in (x.get("note") or "") and "at the" not in (x.get("note") or "") for x in reads(r))
    ]


def near(row: Row, no: int, text: str, **more: Any) -> Row:
    """A new entry beside another one."""
    return {"no": no, "time": row["time"], "node": row["node"], "by": row["by"], "text": text, **more}


def provisional(story: Story) -> bool:
    """Whether no final signature is asked for, so that deviations may stand."""
    return bool((story.get("sign_off") or {}).get("asked_for") == "provisional")


def after(story: Story, row: Row, text: str, **more: Any) -> int:
    """Write a new entry behind another one; its number."""
    story["entries"].insert(story["entries"].index(row) + 1, near(row, 950, text, **more))
    return 950


def drop(story: Story, *nodes: str) -> bool:
    """Leave steps out."""
    kept = [r for r in story["entries"] if r["node"].split(".")[0] not in nodes]
    gone = len(kept) < len(story["entries"])
    story["entries"] = kept
    return gone


def swap_words(row: Row, pattern: str, new: str) -> None:
    """Other words in a text."""
    row["text"] = re.sub(pattern, new, row["text"])
