"""Breaches in what protects, how things move, and what is touched (V1 to V6)."""

from __future__ import annotations

import re
from random import Random

from tests.independent.story_edits import Hit, after, drop, of, reads, runs
from tests.independent.story_innocents import Story


def no_tightness(story: Story, chance: Random) -> Hit | None:
    if not of(story, "D2") or story["station"]["layout"] == "injection":
        return None
    place = of(story, "D2")[0]["no"]
    drop(story, "D2")
    return ("V1", "D2"), [place - 1, place + 1, *(r["no"] for r in runs(story)[:1])], True


def valve_follows(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "D2", "Y2") if len(reads(r, "T4")) > 1 and len(reads(r, "T3")) > 1]
    if not rows:
        return None
    one, two = reads(rows[0], "T4")[0], reads(rows[0], "T4")[-1]
    two["value"] = round(one["value"] * 1.06, 2)
    rows[0]["text"] = re.sub(r"T4[^.;]*", f"T4 {one['value']} to {two['value']}", rows[0]["text"])
    return ("V1", "D2", "Y2"), [rows[0]["no"]], True


def low_test(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "D2", "Y2") if len(reads(r, "T3")) > 1]
    if not rows or story["station"]["layout"] == "injection":
        return None
    for read in (r for row in rows for r in reads(row, "T3")):
        read["value"] = round(read["value"] * 0.8, 2)
    return ("V1", "D2", "Y2"), [row["no"] for row in rows], True


def wide_inlet(story: Story, chance: Random) -> Hit | None:
    if not runs(story) or story["station"]["layout"] == "injection" or story["kind"] == "restart":
        return None
    row = runs(story)[0]
    turns = story["station"]["iv1_turns"] // 2
    words = chance.choice(
        (f"IV1 opened to {turns} turns so that T1 stays up.", f"For this IV1 stood at {turns} turns.")
    )
    place = story["entries"].index(row)
    before = story["entries"][place - 1]
    if chance.random() < 0.5:
        acts = [{"verb": "opened", "object": "IV1", "detail": f"to {turns} turns, in stages, 6 min"}]
        return ("V2",), [after(story, before, words, did=acts), row["no"]], False
    row["text"] = f"{row['text']} For this IV1 stood at {turns} turns."
    return ("V2",), [row["no"]], False


FAST = (
    "spun open by two of us in a minute",
    "swung open in one go",
    "opened in 30 s",
    "run open with the power driver",
    "whipped open, the pipe knocked",
)


def fast_valve(story: Story, chance: Random) -> Hit | None:
    rows = [
        r
        for r in of(story, "J2", "Y8", "H4")
        if any(d["verb"] == "opened" and d["object"] in ("IV1", "IV2") for d in r.get("did") or [])
    ]
    if not rows:
        return None
    row = chance.choice(rows)
    for act in row.get("did") or []:
        if act["verb"] == "opened" and act["object"] in ("IV1", "IV2"):
            act["detail"] = "" if chance.random() < 0.5 else "25 s"
            row["text"] = f"{act['object']} {chance.choice(FAST)}. T4 as before."
    return ("V3", "moved_too_fast", "J2", "Y8", "H4"), [row["no"]], False


TOUCHED = (
    "Lock nut of the shut-off pilot felt loose, nipped it up.",
    "Gave the shut-off screw an eighth in, first run was a bit high.",
    "Shut-off pilot filter taken out and rinsed while we were at it.",
    "Closing needle of the shut-off opened half a turn.",
    "The shut-off's nut got another pull before sealing.",
    "Shut-off sensing line drained and its union remade.",
    "SO screw taken down a flat so as to bring the trip nearer.",
    "While painting the mark the shut-off screw moved a hair, turned back by eye.",
    "Cover of the shut-off lifted to look at the diaphragm, put back.",
    "Root cock of the shut-off sensing line worked shut and open.",
    "Swapped the spring of the shut-off pilot for the new one.",
    "Greased the shut-off pilot screw, ran it in and out and back to its mark.",
)


def touched_late(story: Story, chance: Random) -> Hit | None:
    rows = of(story, "G5", "H1", "Y7", "J1", "H5", "G3")
    if not rows or len(runs(story)) < 3 or rows[-1]["no"] < runs(story)[-1]["no"]:
        return None
    row = chance.choice([r for r in rows if r["no"] > runs(story)[-1]["no"]] or rows[-1:])
    words = chance.choice(TOUCHED)
    if chance.random() < 0.4:
        row["text"] = f"{row['text']} {words}"
        return ("V4", "proof_stale", "F5"), [row["no"]], True
    return ("V4", "proof_stale", "F5"), [after(story, row, words)], True


def touched_act(story: Story, chance: Random) -> Hit | None:
    if len(runs(story)) < 3:
        return None
    row = runs(story)[-1 if chance.random() < 0.6 else -2]
    verb, thing = chance.choice(
        (
            ("locknut_tightened", "shut-off pilot"),
            ("cleaned", "shut-off pilot filter"),
            ("adjusted", "shut-off pilot"),
            ("adjusted", "shut-off closing needle"),
        )
    )
    acts = [{"verb": verb, "object": thing, "detail": ""}]
    return ("V4", "proof_stale", "F5", "F3", "Y6"), [after(story, row, "", did=acts)], True


def moved_mark(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "J4", "Y8") if len(r.get("positions") or {}) > 4]
    if not rows or len(runs(story)) < 3:
        return None
    proof = runs(story)[0]
    proof.setdefault("positions", {})["shut-off screw"] = "21 mm"
    for row in rows:
        row["positions"]["shut-off screw"] = "19 mm"
    return ("V4", "proof_stale", "F5", "J4", "V12", "Y8"), [r["no"] for r in rows], True


def unsteady(story: Story, chance: Random) -> Hit | None:
    rows = [r for r in of(story, "EF1", "D3", "H1", "Y3", "Y7", "H2", "R7") if reads(r, "T3")]
    if not rows:
        return None
    row = chance.choice(rows)
    if chance.random() < 0.5:
        row = rows[-1]
        for read in (r for other in rows if other["node"] == row["node"] for r in reads(other, "T3")):
            read["steady_s"] = 5
    else:
        reads(row, "T3")[-1]["steady_s"] = 0
        row["text"] += chance.choice(
            (
                " Needle still swinging when we wrote it down.",
                " Read on the move.",
                " It was still wandering, took the middle.",
                " Did not wait for it to settle.",
            )
        )
    return ("V5", row["node"]), [row["no"]], False


def two_changes(story: Story, chance: Random) -> Hit | None:
    rows = of(story, "ES1", "ES4", "DS4", "H1", "Y7", "EF1")
    if not rows:
        return None
    row = chance.choice(rows)
    if chance.random() < 0.5:
        row["did"] = [
            *(row.get("did") or []),
            {"verb": "adjusted", "object": "reducer pilot", "detail": ""},
            {"verb": "adjusted", "object": "reducer opening needle", "detail": "half a turn"},
        ]
    else:
        row["text"] += " Turned the reducer screw and its needle together, then read."
    return ("V6", row["node"]), [row["no"]], False
