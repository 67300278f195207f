"""Write the generated parts of the manual; called by `docs/conf.py` before every build."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from devtools.places import ROOT
from devtools.reference import evidence


def write_all(folder: Path) -> None:
    """Write every generated part into *folder*; any failure stops the build."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, make in PARTS.items():
        _write_if_changed(folder / f"{name}.md", make())
    _write_verification(folder / "verification.md")


def _station_file() -> str:
    from devtools.reference import station_file
    from steadyhead.records.station import Station

    return station_file.pages(Station.model_json_schema())


def _findings() -> str:
    from devtools.reference import findings
    from steadyhead.findings import CATALOGUE

    return findings.pages(CATALOGUE)


def _commands() -> str:
    from devtools.reference import commands
    from steadyhead.cli.app import app

    return commands.pages(app)


def _defaults() -> str:
    import steadyhead
    from devtools.reference import defaults

    return defaults.pages(defaults.modules(steadyhead))


def _evidence() -> str:
    return evidence.pages((ROOT / "docs" / "evidence").glob("*.json"))


PARTS: Mapping[str, Callable[[], str]] = {
    "station_file": _station_file,
    "findings": _findings,
    "commands": _commands,
    "defaults": _defaults,
    "evidence": _evidence,
}


def _write_verification(target: Path) -> None:
    """Let pytest collect all tests and write the table of the sources of their numbers."""
    fresh = target.with_suffix(".new")
    words = ["-m", "pytest", "--collect-only", "-q", "--verification-table", str(fresh)]
    done = subprocess.run(
        [sys.executable, *words, "tests"], cwd=ROOT, check=False, capture_output=True, text=True
    )
    if done.returncode != 0:
        raise RuntimeError(f"The verification table could not be collected:\n{done.stdout}{done.stderr}")
    _write_if_changed(target, fresh.read_text(encoding="utf-8"))
    fresh.unlink()


def _write_if_changed(path: Path, text: str) -> None:
    if not path.exists() or path.read_text(encoding="utf-8") != text:
        path.write_text(text, encoding="utf-8")
