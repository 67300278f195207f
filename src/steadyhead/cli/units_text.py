"""The command that shows the sets of units and keeps one as a person's own."""

from __future__ import annotations

import sys

from steadyhead.cli.showing import paragraph, show_json
from steadyhead.errors import InputError
from steadyhead.services.preferences import VARIABLE, Chosen, chosen, forget, keep
from steadyhead.units import KINDS, SETS, UnitSet
from steadyhead.units.sets import HOW

SHOWN = (
    "pressure",
    "flow",
    "length",
    "velocity",
    "volume",
    "leak",
    "flow_coefficient",
    "size",
    "temperature",
)
"""Kinds shown in the table; the others are read alike everywhere, or follow these."""


def do_units(choice: str, unwanted: bool, json: bool) -> int:
    """Show the sets and the one in force, keep one, or forget it."""
    if choice and unwanted:
        raise InputError("--forget", f"got the set {choice!r} too.", "Write one of the two.")
    if choice:
        units, path = keep(choice)
        print(f"Kept: {units.name}, in {path}", file=sys.stderr)
    if unwanted:
        taken = forget()
        print(f"Forgotten: {taken}" if taken else "Nothing was kept.", file=sys.stderr)
    now = chosen()
    if json:
        show_json(_data(now))
    elif choice:
        _warn_of_others(choice, now)
    elif not unwanted:
        print("\n".join(_table(now)))
    return 0


def _warn_of_others(choice: str, now: Chosen) -> None:
    """Say where the environment speaks louder than what was just kept."""
    if now.where == VARIABLE:
        print(
            paragraph(f"The environment says {now.units.name} ({VARIABLE}), which counts before {choice}."),
            file=sys.stderr,
        )


def _data(now: Chosen) -> dict[str, object]:
    return {
        "format": "steadyhead/units/1",
        "in_force": {"name": now.units.name, "where": now.where, "units": _by_kind(now.units)},
        "second": None if now.units.second is None else _by_kind(now.units.second),
        "sets": {name: _by_kind(units) for name, units in SETS.items()},
    }


def _by_kind(units: UnitSet) -> dict[str, str]:
    return {kind: units.unit(kind) for kind in KINDS}


def _table(now: Chosen) -> list[str]:
    sets = list(SETS.values())
    if now.units.name not in SETS:
        sets.append(now.units)
    rows = [["", *(kind.replace("_", " ") for kind in SHOWN)]]
    rows += [[units.name, *(units.heading(kind) for kind in SHOWN)] for units in sets]
    across = list(zip(*rows, strict=True))
    wide = [max(len(cell) for cell in row) for row in rows]
    told = ["  ".join(f"{cell:<{size}}" for cell, size in zip(row, wide, strict=True)) for row in across]
    return [
        *(line.rstrip() for line in told),
        "",
        f"In force: {now.units.name} ({now.where}).",
        paragraph(HOW),
        paragraph(
            f"Counts first: --units; for a paper, papers in the station file; {VARIABLE}; "
            "what 'steadyhead units SET' kept; metric."
        ),
    ]
