"""`dev.py demo`: the main job on an example station, through the product's own commands."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from devtools.places import ROOT, script, shown, tell

FOLDER = ROOT / "demo"
FINDINGS_FORBID_RELEASE = 1
PICTURES = {"strip": "the station with its pressure line", "ladder": "its pressures, one above the other"}


class DemoError(Exception):
    """A command of the product did not do its part."""


def main() -> int:
    """Run the demo and return 0 when every command did its part."""
    try:
        _demo()
    except DemoError as error:
        tell(f"demo: {error}")
        return 1
    return 0


def _demo() -> None:
    name = _examples()[0]
    FOLDER.mkdir(exist_ok=True)
    station = FOLDER / f"{name}.yaml"
    station.write_text(_ask("example", name), encoding="utf-8")
    tell(f"The example station is {name}. Its file: {shown(station)}\n")
    tell(_ask("check", shown(station), also_fine=FINDINGS_FORBID_RELEASE))
    papers = [
        ("design sheet", FOLDER / f"{name}-design.pdf", ["check", shown(station)]),
        (
            "test plan, first commissioning",
            FOLDER / f"{name}-plan.pdf",
            ["plan", shown(station), "--for", "first"],
        ),
        ("station card for the chamber", FOLDER / f"{name}-card.pdf", ["card", shown(station)]),
    ]
    for _, paper, words in papers:
        _ask(*words, "--pdf", shown(paper), also_fine=FINDINGS_FORBID_RELEASE)
    pictures = {what: FOLDER / f"{name}-{what}.svg" for what in PICTURES}
    for what, picture in pictures.items():
        _ask("draw", shown(station), what, "--svg", shown(picture))
    found = [(what, paper) for what, paper, _ in papers]
    _tell_where(station, [*found, *((PICTURES[what], picture) for what, picture in pictures.items())])


def _tell_where(station: Path, made: Sequence[tuple[str, Path]]) -> None:
    tell("\nThe papers and pictures:")
    for what, path in made:
        if not path.is_file() or path.stat().st_size == 0:
            raise DemoError(f"{shown(path)} was promised and is not there.")
        tell(f"  {shown(path):44} {what}")
    tell(f"\nNext: change a pressure in {shown(station)} and run")
    tell(f"  {shown(script('steadyhead'))} check {shown(station)}")


def _examples() -> list[str]:
    """Return the names of the examples: the first word of each line that `steadyhead example` prints."""
    names = [line.split()[0] for line in _ask("example").splitlines() if line.strip()]
    if not names:
        raise DemoError("steadyhead example names no example.")
    return names


def _ask(*words: str, also_fine: int = 0) -> str:
    """Run one command of the product and return what it prints."""
    command = [str(script("steadyhead")), *words]
    environment = {**os.environ, "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run(
        command, cwd=ROOT, env=environment, check=False, stdout=subprocess.PIPE, text=True, encoding="utf-8"
    )
    if done.returncode not in (0, also_fine):
        raise DemoError(
            f"steadyhead {' '.join(words)} ended with exit code {done.returncode}.\n{done.stdout}"
        )
    return done.stdout.rstrip("\n") + "\n"


if __name__ == "__main__":
    sys.exit(main())
