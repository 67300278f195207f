"""The manual's curve of risk against turns, drawn from the evidence of the campaign `advice`."""

from __future__ import annotations

import json
from collections.abc import Mapping
from math import sqrt
from typing import Any

from devtools.places import ROOT
from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering
from steadyhead.drawings.frames import AXIS_ROOM, MARGIN, below, foot_lines, head, named
from steadyhead.drawings.palette import screen
from steadyhead.drawings.scale import Scale, Tick, round_step

PICTURE = ROOT / "docs" / "_static" / "risk.svg"
EVIDENCE = ROOT / "docs" / "evidence" / "advice.json"
WIDTH, HEIGHT, SIDE_ROOM = 880.0, 260.0, 20.0
CHOSEN = 0.045
"""Chance allowed in one job: what the advice spends at the most."""
Z = 1.96
"""Of a 95 % interval, normal law."""


def interval(share: float, n: int) -> tuple[float, float]:
    """Return the 95 % interval of a share found among n (Wilson 1927).

    Examples
    --------
    >>> [round(edge, 3) for edge in interval(0.03, 200)]
    [0.014, 0.064]
    """
    middle, reach = share + Z * Z / (2 * n), Z * sqrt(share * (1 - share) / n + Z * Z / (4 * n * n))
    return max((middle - reach) / (1 + Z * Z / n), 0.0), min((middle + reach) / (1 + Z * Z / n), 1.0)


def drawn(record: Mapping[str, Any]) -> str:
    """Return the curve as SVG text: turns of half of the jobs below, closures per job beside."""
    rows = sorted(record["result"]["curve"].values(), key=lambda row: row["turns median"])
    canvas = Canvas(screen(embed=True), WIDTH)
    left, right = MARGIN + AXIS_ROOM, WIDTH - MARGIN - SIDE_ROOM
    top = head(canvas, "Risk against turns", "closures before their time, of 100 jobs", right) + 14.0
    reach = [interval(row["closures per job"], row["jobs"]) for row in rows]
    most = max(high for _, high in reach)
    up = Scale(0.0, 1.12 * most, top + HEIGHT, top)
    turns = [float(row["turns median"]) for row in rows]
    room = 0.08 * (turns[-1] - turns[0])
    along = Scale(turns[0] - room, turns[-1] + room, left, right)
    _frame(canvas, up, along, (left, right))
    places = [(along.at(t), up.at(row["closures per job"])) for t, row in zip(turns, rows, strict=True)]
    canvas["lines"].chain(places, "grade")
    taken: list[Box] = []
    for (x, y), (low, high), row in zip(places, reach, rows, strict=True):
        canvas["grid"].line(x, up.at(low), x, up.at(high), "edge")
        canvas["rings"].circle(x, y, 5.0, "ring")
        strong = row["chance allowed"] == CHOSEN
        style = Lettering("small", "ink", strong=strong, anchor="middle", halo="paper")
        named(canvas, x, up.at(high) - 7.0, f"{100 * row['chance allowed']:g} %", taken, style)
    canvas.height = round(foot_lines(canvas, up.low_at + 62.0, foot(record)) + 4.0)
    return canvas.svg("Risk against turns", told(record))


def _frame(canvas: Canvas, up: Scale, along: Scale, ends: tuple[float, float]) -> None:
    step = round_step(up.high, 5)
    for count in range(int(up.high / step + 1e-6) + 1):
        y = up.at(count * step)
        canvas["grid"].line(ends[0], y, ends[1], y, "grid")
        style = Lettering("small", "ink-3", anchor="end")
        canvas["lettering"].text(ends[0] - 8, y + 4.5, f"{100 * count * step:g}", style)
    canvas["lines"].line(ends[0], up.low_at, ends[1], up.low_at, "object")
    pace = round_step(along.high - along.low, 6)
    first = int(along.low / pace) + 1
    marks = [Tick(n * pace, f"{n * pace:g}") for n in range(first, int(along.high / pace) + 1)]
    below(canvas, along, up.low_at, marks, "turns and waits, half of the jobs")


def foot(record: Mapping[str, Any]) -> list[str]:
    """Return what stands below the curve: what a ring is, and who turns by the plate and in quarters."""
    jobs = min(row["jobs"] for row in record["result"]["curve"].values())
    ways = record["result"]["strategies"]
    others = "; ".join(
        f"{words} {ways[name]['closures per job']:.2f} a job at {ways[name]['turns median']:.0f} turns"
        for name, words in (("by the plate", "who turns by the plate:"), ("quarters", "in quarters only:"))
    )
    return [
        f"A ring: {jobs} simulated jobs at the chance allowed above it; 95 % interval by Wilson 1927.",
        f"Beyond this picture: {others}.",
    ]


def told(record: Mapping[str, Any]) -> str:
    """Return the curve as one sentence."""
    rows = sorted(record["result"]["curve"].values(), key=lambda row: row["chance allowed"])
    said = ", ".join(
        f"{100 * row['chance allowed']:g} % allowed: {100 * row['closures per job']:.1f} of 100 jobs "
        f"and {row['turns median']:g} turns"
        for row in rows
    )
    return f"Closures before their time against turns. {said}."


def write(record: Mapping[str, Any]) -> None:
    """Draw the curve of a record of the campaign anew."""
    PICTURE.write_text(drawn(record), encoding="utf-8")


def main() -> None:
    """Draw it from the evidence kept."""
    write(json.loads(EVIDENCE.read_text(encoding="utf-8")))


if __name__ == "__main__":
    main()
