"""Remarks put into clean stories: some tell of a breach, some only seem to; each was written before tried.

`stories/remarks.json` holds them with the step and how they are put there: added to the text, in its place,
or as a new entry. `where`: what the place must have (something defeated), or what goes away with the text.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from copy import deepcopy
from random import Random
from typing import Any

from tests.independent.run_adapter import judge
from tests.independent.story_campaign import HERE, SETS, clean
from tests.independent.story_edits import near, of, reads, runs
from tests.independent.story_innocents import Row, Story

Remark = Mapping[str, Any]
NEW = 950


def remarks(name: str) -> list[Remark]:
    """The remarks of one sort: telling, or innocent."""
    found: list[Remark] = json.loads((HERE / "remarks.json").read_text(encoding="utf-8"))[name]
    return found


def put(base: Story, remark: Remark) -> tuple[Story, int] | None:
    """Return a story with a remark and the entry it stands in, None where it has no place."""
    story = deepcopy(base)
    row = _place(story, remark)
    if row is None:
        return None
    text = remark["text"]
    if "{gauge}" in text:
        gauges = [
            r["instrument"] for run in runs(story) for r in reads(run) if "trip" in (r.get("note") or "")
        ]
        if not gauges:
            return None
        text = text.replace("{gauge}", gauges[0])
    _clear(row, remark.get("where", ""))
    if remark.get("where") == "cause open":
        for other in of(story, "R6", "R7", "R8", "R9", "R10"):
            other["text"] = "As planned."
    if remark["how"] == "new":
        story["entries"].insert(
            story["entries"].index(row) + 1, {**near(row, NEW, text), "node": remark["node"]}
        )
        return story, NEW
    row["text"] = text if remark["how"] == "instead" else f"{row['text']} {text}".strip()
    if remark["how"] == "instead":
        for act in row.get("did") or []:
            act["detail"] = "" if remark["node"] in ("H2", "D2", "J2", "C2") else act["detail"]
    return story, row["no"]


def _place(story: Story, remark: Remark) -> Row | None:
    node, where = remark["node"], remark.get("where", "")
    rows = of(story, node)
    if where == "second look":
        rows = [r for r in story["entries"] if any(d["verb"] == "second_look" for d in r.get("did") or [])]
    if remark["how"] == "new" and not rows and node in ("K1", "J6"):
        rows = story["entries"][-1:]
    if not rows:
        return None
    ahead = story["entries"][: story["entries"].index(rows[-1]) + 1]
    if where == "defeated" and not _out_of_service(ahead):
        return None
    return rows[-1]


def _out_of_service(rows: Sequence[Row]) -> bool:
    verbs = [d["verb"] for r in rows for d in r.get("did") or [] if d["verb"] in ("defeated", "restored")]
    return bool(verbs) and verbs[-1] == "defeated"


def _clear(row: Row, where: str) -> None:
    if where in ("noact", "second look"):
        row["did"] = []
    elif where == "noread":
        row["readings"] = []
    elif where == "oneread":
        row["readings"] = reads(row, "T3")[-2:]
        acts = ("lowered", "locknut_tightened")
        row["did"] = [{"verb": verb, "object": "reducer pilot", "detail": ""} for verb in acts]


def trial(sort: str, seed: int, count: int = 1, every: int = 1) -> tuple[int, list[str]]:
    """Return how many remarks of a sort were put somewhere, and those judged wrong; of every so many one."""
    chance, tried, wrong = Random(seed), 0, []
    bases = [s for s in clean(*SETS) if (s.get("sign_off") or {}).get("asked_for") != "provisional"]
    for remark in list(remarks(sort))[seed % every :: every]:
        fit = [b for b in bases if remark.get("kind", b["kind"]) == b["kind"]]
        chance.shuffle(fit)
        for base, made in [(b, m) for b in fit if (m := put(b, remark)) is not None][:count]:
            tried += 1
            if told := _wrong(made, remark):
                wrong.append(f"{base['id']} {remark['node']}: {remark['text']} {told}")
    return tried, wrong


def _wrong(made: tuple[Story, int], remark: Remark) -> str:
    story, number = made
    answer = judge(story)
    told = [i for i in answer["issues"] if i["level"] != "info"]
    if "rules" not in remark:
        return " | ".join(f"{i['rule']}: {i['text']}" for i in told)
    hit = any(i["rule"] in remark["rules"] or i["entry"] == number for i in told)
    return "" if hit and not (remark["refused"] and answer["final_allowed"]) else "not heard"


if __name__ == "__main__":
    for kind in ("telling", "innocent"):
        number, bad = trial(kind, int(sys.argv[1]), int(sys.argv[2]))
        sys.stdout.write("\n   ".join([f"{kind}: {len(bad)} of {number} wrong", *bad]) + "\n")
