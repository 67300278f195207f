"""`dev.py campaign NAME`: one campaign at full size; its result becomes evidence in the manual.

A campaign is a module `tests/campaigns/NAME.py` with

* a docstring whose first line says what is tried,
* `FULL`: the number of cases of a full run,
* `run(seed, n) -> dict`: the figures found; `held` in it says whether the promise was kept,
* where it wants them, `ALL`: the number that leaves out nothing (`--all`), and `written(record)`: what else
  is made of its evidence.

The tests run the same code at a share of `FULL` with a new, printed seed each time.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import pkgutil
import platform
import secrets
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol, cast

from devtools.places import ROOT, shown, tell

FOLDER = "tests.campaigns"
EVIDENCE = ROOT / "docs" / "evidence"
TEST_SHARE = 0.0125


class Campaign(Protocol):
    """What a campaign's module offers."""

    __doc__: str | None
    FULL: int

    def run(self, seed: int, n: int) -> Mapping[str, Any]:
        """Try *n* cases grown from *seed* and return the figures found, with `held`."""


def names() -> list[str]:
    """Return the names of all campaigns."""
    folder = ROOT / Path(*FOLDER.split("."))
    return sorted(
        found.name for found in pkgutil.iter_modules([str(folder)]) if not found.name.startswith("test_")
    )


def load(name: str) -> Campaign:
    """Return the campaign *name*."""
    return cast("Campaign", importlib.import_module(f"{FOLDER}.{name}"))


def about(campaign: Campaign) -> str:
    """Return the first sentence a campaign says of itself."""
    return (campaign.__doc__ or "").strip().partition("\n")[0]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one campaign, write its evidence and return 0 if it held."""
    parser = argparse.ArgumentParser(prog="dev.py campaign")
    parser.add_argument("name")
    parser.add_argument("--seed", type=int, default=secrets.randbelow(10**9))
    parser.add_argument("--n", "--count", type=int)
    parser.add_argument("--all", action="store_true")
    chosen = parser.parse_args(arguments)
    chosen.name = chosen.name.replace("-", "_")
    if chosen.name not in names():
        tell(f"campaign: {chosen.name!r} is not known. Known: {', '.join(names()) or 'none yet'}.")
        return 2
    campaign = load(chosen.name)
    full = getattr(campaign, "ALL", campaign.FULL) if chosen.all else campaign.FULL
    n = full if chosen.n is None else chosen.n
    tell(f"{chosen.name}: {n} cases, seed {chosen.seed}. {about(campaign)}")
    started = time.monotonic()
    result = dict(campaign.run(seed=chosen.seed, n=n))
    held = bool(result.pop("held"))
    record = {
        "campaign": chosen.name,
        "about": about(campaign),
        "n": n,
        "seed": chosen.seed,
        "held": held,
        "result": result,
        "commit": commit(),
        "machine": machine(),
        "date": datetime.now(UTC).date().isoformat(),
        "seconds": round(time.monotonic() - started, 1),
    }
    target = EVIDENCE / f"{chosen.name}.json"
    target.parent.mkdir(exist_ok=True)
    target.write_text(json.dumps(record, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    getattr(campaign, "written", lambda _: None)(record)
    tell(json.dumps(result, indent=1, ensure_ascii=False))
    tell(
        f"{chosen.name}: {'held' if held else 'NOT held'}, {record['seconds']} s; written to {shown(target)}."
    )
    return 0 if held else 1


def commit() -> str:
    """Return the commit the campaign ran on, with a plus where the work tree differs from it."""
    words = ["git", "describe", "--always", "--dirty=+", "--exclude=*"]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    return done.stdout.strip() if done.returncode == 0 else "not in a repository"


def machine() -> str:
    """Return what matters of the machine, and nothing that names it."""
    system = f"{platform.system()} {platform.machine()}"
    return f"Python {platform.python_version()}, {system}, {os.cpu_count()} cores"


if __name__ == "__main__":
    sys.exit(main())
