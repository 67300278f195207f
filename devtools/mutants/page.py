"""The manual's page about mutants, made from the evidence, and the reasons why some live."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping
from typing import Any

from devtools.places import ROOT

PAGE = ROOT / "docs" / "mutants.md"
EVIDENCE = ROOT / "docs" / "evidence" / "mutants.json"
REASONS = ROOT / "docs" / "evidence" / "reasons" / "mutants.json"
KINDS = {
    "equal": "equal in meaning: nothing that can happen is judged otherwise",
    "words": "wording only: another word in a remark or a text",
    "speed": "only how fast or how often something is worked out",
    "shape": "guards against data that the doors refuse already",
    "own": "noticed, but by a test that this campaign does not ask",
    "pin": "noticed only by the digests of whole plans, pinned as they stand, which are not asked",
    "open": "a test is missing",
    "since": "a test written after this run notices it",
}
"""How a reason begins, and what that says."""


def record() -> Mapping[str, Any] | None:
    """Return the evidence of the last run; None where none is kept."""
    if not EVIDENCE.is_file():
        return None
    kept: dict[str, Any] = json.loads(EVIDENCE.read_text(encoding="utf-8"))
    return kept


def reasons() -> dict[str, str]:
    """Return why mutants live, by their key."""
    if not REASONS.is_file():
        return {}
    known: dict[str, str] = json.loads(REASONS.read_text(encoding="utf-8"))
    return known


def write(record: Mapping[str, Any]) -> None:
    """Write the page."""
    PAGE.write_text(text(record), encoding="utf-8")


def text(record: Mapping[str, Any] | None) -> str:
    """Return the page for a record of the campaign; without one it says so."""
    if record is None:
        return f"{HEAD}\n\n**Not run yet on the whole; nothing is known of the share.**\n"
    result = record["result"]
    parts = [
        HEAD,
        f"Run of {record['date']} on commit `{record['commit']}`, seed {record['seed']}, "
        f"{result['tried']} mutants tried of {result['drawn']} drawn: "
        f"**{result['killed']} killed, {result['lived']} alive** "
        f"({100 * result['killed share']:.1f} % killed); {result['timed out']} of the killed went round in "
        f"circles. {record['machine']}; {record['seconds']:.0f} s.",
        result.get("note", ""),
        _table(("part", "tried", "killed", "alive", "share"), [
            (f"`{group}`", row["tried"], row["killed"], row["lived"], f"{100 * row['share']:.0f} %")
            for group, row in result["by group"].items()
        ]),
        "## Why the others live",
        _kinds(result["survivors"]),
        *(_group(group, result["survivors"]) for group in sorted({r["group"] for r in result["survivors"]})),
    ]  # fmt: skip
    return "\n\n".join(part for part in parts if part) + "\n"


HEAD = """# Mutants

Made by `python3 dev.py campaign mutants`; do not edit. A mutant is one small wrong change: a comparison
turned, a condition's part left out, a number moved, a word replaced in the modules that judge and in the
ladder; a predicate negated, a limit moved by a tenth, a dependency left out in the rows of the plans. Each
is put into a copy of the running program, and the tests that go through it are run. A mutant that no test
notices is listed with the reason why it lives.

The changes of Python are those of cosmic-ray and three of our own; a sample is drawn with the seed, twice as
large for the modules that say what counts. Tests that take longer than some seconds, and those that need a
browser, are not asked."""


def _kinds(living: list[dict[str, Any]]) -> str:
    count = Counter(row["why"].partition(":")[0] or "not looked at" for row in living)
    rows = [(kind, count[kind], KINDS.get(kind, "")) for kind in sorted(count)]
    return _table(("kind", "alive", "what it says"), rows) if rows else "None lives."


def _group(group: str, living: list[dict[str, Any]]) -> str:
    rows = [
        (row["place"], _code(row["before"]), _code(row["after"]), row["why"] or "not looked at")
        for row in living
        if row["group"] == group
    ]
    return f"### `{group}`\n\n{_table(('where', 'is', 'made', 'why it lives'), rows)}"


def _code(words: str, most: int = 150) -> str:
    short = words if len(words) <= most else f"{words[: most - 1]}…"
    return f"``{short}``".replace("|", "\\|") if short else "—"


def _table(head: tuple[str, ...], rows: list[tuple[Any, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join(f"| {' | '.join(str(cell) for cell in line)} |" for line in lines)
