"""The locks hold what `pyproject.toml` asks for, by hash, and name no address."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

from devtools.bootstrap import CORE, INSTALLER, TEST


def lock_problems(root: Path) -> Iterator[str]:
    """Yield one line for each address, missing hash or missing package in the locks."""
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    groups = project["dependency-groups"]
    core = [*project["project"]["dependencies"], *groups["build"]]
    wanted = {CORE: core, TEST: [*core, *groups["test"]], INSTALLER: groups["installer"]}
    for name, requirements in wanted.items():
        text = (root / name).read_text(encoding="utf-8")
        if ":" + "//" in text:
            yield f"{name}: names an address; renew it with devtools/relock.py."
        yield from _unhashed(name, text)
        locked = set(re.findall(r"^([a-z0-9-]+)==", text, flags=re.MULTILINE))
        for missing in sorted({_name(one) for one in requirements} - locked):
            yield f"{name}: {missing} is missing, pyproject.toml asks for it; renew with devtools/relock.py."
    yield from _differences(root)


def _unhashed(name: str, text: str) -> Iterator[str]:
    for entry in re.split(r"\n(?=\S)", text.strip()):
        if "--hash=sha256:" not in entry:
            yield f"{name}: no hash for {entry.splitlines()[0]}."


def _differences(root: Path) -> Iterator[str]:
    """Yield packages that the demo and the tests would have in different versions."""
    pins = [
        re.findall(r"^\S+==[^\\]+", (root / name).read_text(), flags=re.MULTILINE) for name in (CORE, TEST)
    ]
    for pin in sorted(set(pins[0]) - set(pins[1])):
        yield f"{CORE}: {pin.strip()} differs from {TEST}; renew both with devtools/relock.py."


def _name(requirement: str) -> str:
    """Return the name in a requirement, written as the locks write it.

    >>> _name("ruamel.yaml>=0.18")
    'ruamel-yaml'
    """
    found = re.match(r"[A-Za-z0-9._-]+", requirement)
    if found is None:
        raise ValueError(f"{requirement!r} is no requirement.")
    return re.sub(r"[-_.]+", "-", found.group()).lower()
