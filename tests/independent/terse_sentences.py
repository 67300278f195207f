"""Terse sentences put in place of the text of clean stories: each was written before it was tried.

`stories/terse.json`: step and sentence; those that tell of a breach have the rules that may hear it. Figures
are those of the story: {h} last hold, {a} trip, {p} peak, {t1} {t2} taps, {q} trickle, {s} step, {c} closing
time, {u} unit, {l} lock-up, {k} trickle reading, {low} T1 while bleeding.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

from tests.independent.run_adapter import judge
from tests.independent.story_campaign import HERE, SETS, clean
from tests.independent.story_edits import of
from tests.independent.story_innocents import Row, Story


def sentences(name: str) -> list[Any]:
    """The sentences of one sort: clean, or telling."""
    found: list[Any] = json.loads((HERE / "terse.json").read_text(encoding="utf-8"))[name]
    return found


def bases() -> list[Story]:
    """The clean stories that have every figure a sentence may ask for."""
    need = ("trip_repeatability", "trickle_flow", "trickle_reading")
    return [
        s
        for s in reversed(clean(*SETS))
        if all(s["station"].get(k) for k in need) and s["station"]["layout"] != "injection"
    ]


def told(stories: list[Story], node: str, text: str, turn: int, each: int) -> Iterator[tuple[Row, list[Any]]]:
    """Yield the row that got the sentence, and what is said of the story then, for some stories."""
    fit = [s for s in stories if _row(s, node, text)]
    for k in range(min(each, len(fit))):
        story = deepcopy(fit[(turn * each + k) % len(fit)])
        row = _row(story, node, text)
        assert row is not None
        row["text"] = _filled(story, row, text)
        yield row, [i for i in judge(story)["issues"] if i["level"] != "info"]


def _row(story: Story, node: str, text: str) -> Row | None:
    rows: list[Row] = of(story, node)
    if "{a}" in text:
        rows = [r for r in rows if _figure(r, "trip") is not None and _figure(r, "last hold") is not None]
    if "{low}" in text:
        rows = [r for r in rows if _figure(r, "", "T1") is not None]
    if node == "Y3" or "{l}" in text:
        rows = [r for r in rows if any(not read.get("flow") for read in r.get("readings") or [])]
    if node in ("F2", "H2", "Y4"):
        rows = [r for r in rows if r.get("did")]
    return rows[0] if rows else None


def _figure(row: Row, mark: str, tap: str = "T3") -> float | None:
    reads = row.get("readings") or []
    return next((r["value"] for r in reads if r["tap"] == tap and mark in (r.get("note") or "")), None)


def _filled(story: Story, row: Row, text: str) -> str:
    station = story["station"]
    low, high = station.get("stopwatch_window_s") or (5, 8)
    still = [r["value"] for r in row.get("readings") or [] if r["tap"] == "T3" and not r.get("flow")]
    trip, t1 = _figure(row, "trip"), _figure(row, "at the trip", "T1") or station["inlet"]
    figures = {
        "h": _figure(row, "last hold"),
        "a": trip,
        "p": _figure(row, "peak") or trip,
        "t1": t1,
        "t2": _figure(row, "at the trip", "T2") or t1,
        "q": station["trickle_flow"],
        "s": round(0.45 * station["trip_repeatability"], 2),
        "l": still[-1] if still else None,
        "k": station["trickle_reading"],
        "low": _figure(row, "", "T1"),
    }
    plain = {k: "x" if v is None else f"{v:g}" for k, v in figures.items()}
    return text.format(**plain, c=f"{(low + high) / 2:g} s", u=station["unit"])
