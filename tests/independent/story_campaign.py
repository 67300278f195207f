"""Campaign: the sets of stories, and innocent variants and breaches of the clean ones, through the adapter.

Run as `python -m tests.independent.story_campaign COUNT SEED [FOLDER …]`; a folder holds stories and truth.
Without folders the sets of this repository are taken.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.independent.run_adapter import judge
from tests.independent.story_breaches import breaches
from tests.independent.story_edits import Breached
from tests.independent.story_innocents import innocents

HERE = Path(__file__).parent / "stories"
SETS = (HERE, *(HERE / name for name in ("second", "third", "fourth", "fifth", "sixth", "seventh")))
"""Stories written from the handbook alone, without sight of the rules; each was unseen once."""


@dataclass(frozen=True)
class Rate:
    """How a set of stories is judged: what was missed, and what was said without cause."""

    name: str
    broken: int
    clean: int
    missed: Mapping[str, str]
    false: Mapping[str, list[str]]

    def line(self) -> str:
        """The rates in a line."""
        hits, quiet = self.broken - len(self.missed), self.clean - sum(k.startswith("=") for k in self.false)
        said = sum(len(v) for v in self.false.values())
        return (
            f"{self.name}: hits {hits} of {self.broken}, clean {quiet} of {self.clean}, false alarms {said}"
        )


def rate(folder: Path) -> Rate:
    """Return the rates of one set."""
    truths = json.loads((folder / "stories_truth.json").read_text(encoding="utf-8"))
    stories = json.loads((folder / "stories.json").read_text(encoding="utf-8"))
    missed: dict[str, str] = {}
    false: dict[str, list[str]] = {}
    broken = 0
    for story in stories:
        truth, answer = truths[story["id"]], judge(story)
        told = [i for i in answer["issues"] if i["level"] != "info"]
        breach = truth.get("breach")
        if breach is None:
            if told or not answer["final_allowed"]:
                false[f"={story['id']}"] = [_line(i) for i in told] or ["final refused"]
            continue
        broken += 1
        named = (breach["rule"], *breach["accept_rules"])
        hits = [i for i in told if i["rule"] in named or i["entry"] in breach["entries"]]
        if not hits or truth["final_allowed"] not in (None, answer["final_allowed"]):
            missed[story["id"]] = breach["why"]
        if rest := [_line(i) for i in told if i not in hits]:
            false[story["id"]] = rest
    return Rate(folder.name, broken, len(stories) - broken, missed, false)


def _line(issue: Mapping[str, Any]) -> str:
    return f"{issue['level']} {issue['entry']} {issue['rule']}: {issue['text']}"


def clean(*folders: Path) -> list[dict[str, Any]]:
    """Return the clean stories of folders."""
    found = []
    for folder in folders:
        truth = json.loads((folder / "stories_truth.json").read_text(encoding="utf-8"))
        stories = json.loads((folder / "stories.json").read_text(encoding="utf-8"))
        found += [s for s in stories if not truth[s["id"]].get("breach")]
    return found


def false_alarms(story: dict[str, Any]) -> list[str]:
    """Return what the audit says against a clean story."""
    answer = judge(story)
    told = [_line(i) for i in answer["issues"] if i["level"] != "info"]
    return told if answer["final_allowed"] or told else ["final refused"]


def caught(case: Breached) -> tuple[bool, list[str], list[str]]:
    """Return whether a breach is caught, what was said of it, and what was said besides."""
    answer = judge(case.story)
    told = [i for i in answer["issues"] if i["level"] != "info"]
    hits = [i for i in told if i["rule"] in case.rules or i["entry"] in case.entries]
    right = bool(hits) and not (case.refused and answer["final_allowed"])
    return right, [_line(i) for i in hits], [_line(i) for i in told if i not in hits]


def tell(*lines: str) -> None:
    """Write lines to the terminal."""
    sys.stdout.write("\n      ".join(lines) + "\n")


def main(count: int, seed: int, folders: Sequence[Path]) -> None:
    """Print misses, false alarms and their rates."""
    for found in map(rate, folders):
        tell(found.line(), *(f"MISS {k}: {why}" for k, why in found.missed.items()))
        for name, said in found.false.items():
            tell(f"FALSE {name.strip('=')}", *said)
    bases = clean(*folders)
    wrong = 0
    for name, story in innocents(bases, count, seed):
        told = false_alarms(story)
        wrong += bool(told)
        if told:
            tell("FALSE", name, *told)
    missed = extra = 0
    cases = breaches(bases, count, seed)
    for case in cases:
        right, hits, more = caught(case)
        missed += not right
        extra += len(more)
        if not right or more:
            tell("HIT" if right else "MISS", case.name, *hits, *(f"EXTRA {m}" for m in more))
    tell(
        f"innocent {count}: {wrong} with false alarms; breaches {len(cases)}: {missed} missed, {extra} extra"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), [Path(p) for p in sys.argv[3:]] or SETS)
