"""What a run has found so far, kept in `.cache`: ended before its time, it goes on where it was."""

from __future__ import annotations

import hashlib
import json
import pickle
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from devtools.mutants.model import Mutant, Outcome
from devtools.places import ROOT

FOLDER = ROOT / ".cache" / "mutants"


@dataclass
class Seen:
    """What one run of the tests as they are has shown."""

    seconds: dict[str, float] = field(default_factory=dict)
    failed: set[str] = field(default_factory=set)
    lines: dict[str, dict[int, set[str]]] = field(default_factory=dict)
    steps: defaultdict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    plans: dict[str, Any] = field(default_factory=dict)


class Memory:
    """Kept for some tests on the sources as they are; another text of any of them begins anew."""

    def __init__(self, tests: Iterable[str]) -> None:
        name = hashlib.sha256("\n".join(tests).encode())
        for path in _sources():
            name.update(path.read_bytes())
        self.place = FOLDER / name.hexdigest()[:16]
        self.place.mkdir(parents=True, exist_ok=True)
        self.known = {row["key"]: row for row in self._rows()}

    def seen(self) -> Seen | None:
        """Return what watching the tests has shown; None where they have not been watched."""
        file = self.place / "seen.pickle"
        if not file.is_file():
            return None
        kept: Seen = pickle.loads(file.read_bytes())
        kept.steps = defaultdict(set, kept.steps)
        return kept

    def keep_seen(self, seen: Seen) -> None:
        """Keep it."""
        plain = Seen(seen.seconds, seen.failed, seen.lines, dict(seen.steps), seen.plans)  # type: ignore[arg-type]
        (self.place / "seen.pickle").write_bytes(pickle.dumps(plain))

    def outcome(self, mutant: Mutant) -> Outcome | None:
        """Return what came of a mutant; None where it has not been tried."""
        row = self.known.get(mutant.key)
        return None if row is None else Outcome(mutant, row["fate"], row["test"])

    def keep(self, outcome: Outcome) -> None:
        """Keep it at once."""
        row = {"key": outcome.mutant.key, "fate": outcome.fate, "test": outcome.test}
        with (self.place / "outcomes.jsonl").open("a", encoding="utf-8") as file:
            file.write(json.dumps(row) + "\n")

    def _rows(self) -> Iterator[dict[str, Any]]:
        file = self.place / "outcomes.jsonl"
        if file.is_file():
            yield from map(json.loads, file.read_text("utf-8").splitlines())


def _sources() -> list[Path]:
    """Return the texts that a run rests on."""
    return sorted(path for room in ("src", "tests") for path in (ROOT / room).rglob("*.py"))
