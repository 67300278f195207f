"""The results of the campaigns, read off `docs/evidence/*.json`."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from devtools.reference.marks import code, grid, plain


def pages(files: Iterable[Path]) -> str:
    """Return one part for each campaign; says so where none has been run."""
    parts = [_one(json.loads(path.read_text(encoding="utf-8"))) for path in sorted(files)]
    return "\n\n".join(parts or ["No campaign has been run yet."]) + "\n"


def _one(record: Mapping[str, Any]) -> str:
    held = "Held." if record["held"] else "**Not held.**"
    grown = f"seed {record['seed']}" if "seed" in record else "written by hand"
    size = f"{record['n']} cases, {grown}"
    when = f", {plain(record['date'])}" if "date" in record else ""
    origin = f"commit {code(record['commit'])}{when}, {plain(record['machine'])}"
    rows = [(plain(name), plain(value)) for name, value in _flat(record["result"])]
    return "\n\n".join(
        (
            f"## {plain(record['campaign'])}",
            plain(record["about"]),
            f"{held} {size}, {origin}.",
            grid(("figure", "value"), rows),
        )
    )


def _flat(result: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, str]]:
    for key, value in result.items():
        name = f"{before}{key}".replace("_", " ")
        if isinstance(value, Mapping):
            yield from _flat(value, f"{name}, ")
        elif isinstance(value, list) and value and isinstance(value[0], Mapping):
            yield name, f"{len(value)}, listed on a page of their own"
        else:
            yield name, f"{value:.4g}" if isinstance(value, float) else str(value)
