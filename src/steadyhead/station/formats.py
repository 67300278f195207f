"""Formats of the station file: which one it is, and how old ones are brought up to date."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from steadyhead.records.station import FORMAT
from steadyhead.station.refusal import Refusal

Upgrade = Callable[[dict[str, Any]], dict[str, Any]]

UPGRADES: Mapping[str, Upgrade] = {}
"""From an old format to the next; each is a pure function with a kept sample in tests/station/old/."""

_SHAPE = re.compile(r"^steadyhead/station/(\d{1,6})$")


def up_to_date(
    data: dict[str, Any], upgrades: Mapping[str, Upgrade] = UPGRADES, line: int = 0
) -> dict[str, Any]:
    """Return the data in the format of today.

    Raises
    ------
    Refusal
        No format, another kind of file, or a format newer than this program.
    """
    for _ in range(len(upgrades) + 1):
        got = data.get("format")
        if got == FORMAT:
            return data
        if not isinstance(got, str) or got not in upgrades:
            raise _unknown(got, line)
        data = upgrades[got](data)
    raise _unknown(data.get("format"), line)


def _unknown(got: object, line: int) -> Refusal:
    if got is None:
        return Refusal("format", "missing.", f"Write 'format: {FORMAT}' as the first line.", path=("format",))
    shape = _SHAPE.match(got) if isinstance(got, str) else None
    if shape and int(shape.group(1)) > int(FORMAT.rpartition("/")[2]):
        remedy = "Read it with a newer steadyhead, or save it from there in the older format."
        problem = f"got {got!r}; this steadyhead reads up to {FORMAT!r}."
    else:
        problem, remedy = f"got {str(got)[:60]!r}.", f"Write 'format: {FORMAT}'."
    return Refusal("format", problem, remedy, path=("format",), line=line)
