"""Hold two results of a door against each other, number by number."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

NAMES_A_FILE = re.compile(r"(hash|sha256|\.id|residual_pa|provenance)$")


def leaves(data: object, path: str = "") -> Iterator[tuple[str, Any]]:
    """Yield every leaf of plain data with its place."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield from leaves(value, f"{path}.{key}")
    elif isinstance(data, list | tuple):
        for index, value in enumerate(data):
            yield from leaves(value, f"{path}[{index}]")
    else:
        yield path, data


def differences(one: object, other: object, share: float, but: re.Pattern[str] = NAMES_A_FILE) -> list[str]:
    """Return where two results differ by more than a share; leaves whose place matches `but` are left out."""
    here, there = dict(leaves(one)), dict(leaves(other))
    found = [f"only on one side: {path}" for path in here.keys() ^ there.keys()]
    for path in here.keys() & there.keys():
        mine, its = here[path], there[path]
        if but.search(path):
            continue
        if isinstance(mine, float) and isinstance(its, int | float):
            if abs(mine - its) > share * abs(mine) + 1e-9:
                found.append(f"{path}: {mine!r}, {its!r}")
        elif mine != its:
            found.append(f"{path}: {mine!r}, {its!r}")
    return sorted(found)
