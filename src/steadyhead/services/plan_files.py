"""A plan as a file that a run is judged by: one line with its hash, one line with the plan itself."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache

from steadyhead.errors import InputError
from steadyhead.procedure.flaws import validate
from steadyhead.procedure.plain import from_json, to_json
from steadyhead.records.procedure import Procedure
from steadyhead.station.canonical import canonical, sha256

FORMAT = "steadyhead/plan-file/1"
ENDING = ".plan"
BEGINS = b'{"format":"steadyhead/plan-file/'
KEPT = 8
"""Plans read and found sound that are kept: a visit asks for its plan at every entry. [1]"""
_AGAIN = "Write it again: steadyhead plan FILE --for VISIT --save NAME.plan"


@dataclass(frozen=True, slots=True)
class PlanFile:
    """A plan as it was stored: its bytes, their hash, and what they say."""

    procedure: Procedure
    stored: bytes
    sha256: str


def plan_file(procedure: Procedure) -> bytes:
    """Return the bytes of a plan file. The hash is over the second line without its end."""
    stored = to_json(procedure)
    return canonical({"format": FORMAT, "sha256": sha256(stored)}) + b"\n" + stored + b"\n"


def read_plan_file(content: bytes, where: str = "plan") -> PlanFile:
    """Return the plan of a file, its hash verified over the stored bytes.

    Raises
    ------
    InputError
        No plan file, one of another program, one that was changed, or a plan that cannot be judged by.
    """
    head, _, rest = content.partition(b"\n")
    stored = rest.removesuffix(b"\n").removesuffix(b"\r")
    told = _head(head, where)
    if told.get("format") != FORMAT:
        newer = "It comes from a newer program; use that one, or write" if _is_newer(told) else "Write"
        raise InputError(f"{where}: format", f"got {told.get('format')!r:.60}.", f"{newer}{_AGAIN[5:]}")
    found = sha256(stored)
    if told.get("sha256") != found:
        raise InputError(where, "was changed: its hash is not the one written in it.", _AGAIN)
    return PlanFile(_sound(stored, where), stored, found)


@lru_cache(maxsize=KEPT)
def _sound(stored: bytes, where: str) -> Procedure:
    """Return the plan that was stored, or refuse one that cannot be judged by."""
    procedure = from_json(stored)
    try:
        flaws = validate(procedure)
    except (TypeError, ValueError, AttributeError, KeyError, RecursionError) as problem:
        raise InputError(where, f"holds no plan that can be followed: {problem!r:.60}.", _AGAIN) from None
    if flaws:
        told_flaws = "; ".join(f"{flaw.where} {flaw.what}" for flaw in flaws[:3])
        raise InputError(where, f"holds a plan that cannot be followed: {told_flaws}.", _AGAIN)
    return procedure


def _head(head: bytes, where: str) -> dict[str, object]:
    problem = InputError(where, "is no plan file.", _AGAIN)
    if len(head) > 1000:
        raise problem
    try:
        told = json.loads(head)
    except (ValueError, RecursionError):
        raise problem from None
    if not isinstance(told, dict):
        raise problem
    return told


def _is_newer(told: dict[str, object]) -> bool:
    family, _, number = str(told.get("format")).rpartition("/")
    here = FORMAT.rpartition("/")
    return family == here[0] and number.isdigit() and len(number) < 9 and int(number) > int(here[2])
