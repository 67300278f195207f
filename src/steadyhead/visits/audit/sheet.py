"""The sheet of a job kept on paper (``steadyhead/job/1``), and the numbers of a job that has a plan."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from steadyhead.errors import InputError, InputErrors
from steadyhead.records.job import FORMAT, JOB_KINDS, LAYOUTS, Job, JobKind
from steadyhead.records.procedure import Procedure
from steadyhead.station.decoding import decoded
from steadyhead.station.plain import from_tree
from steadyhead.station.refusal import Refusal
from steadyhead.station.tree import read_tree
from steadyhead.units import UnitError, parse

NUMBERS: Final[Mapping[str, str]] = {
    "duty": "pressure",
    "duty_flow": "flow",
    "trickle_reading": "pressure",
    "trickle_flow": "flow",
    "lockup_highest": "pressure",
    "alarm": "pressure",
    "trip": "pressure",
    "standby_trip": "pressure",
    "relief_crack": "pressure",
    "repeatability": "pressure",
    "tolerance_up": "pressure",
    "instrument_error": "pressure",
    "limit": "pressure",
    "inlet": "pressure",
    "raising_turns": "turns",
    "inlet_turns": "turns",
}
"""Numbers of a sheet by name, with their kind of quantity."""
WORDS: Final = ("name", "unit", "senses", "shut_off", "switch")
_PLAN_NAMES: Final[Mapping[str, str]] = {
    "duty": "duty",
    "duty_flow": "duty_flow",
    "trickle": "trickle_reading",
    "trickle_flow": "trickle_flow",
    "lockup": "lockup_highest",
    "alarm": "alarm",
    "trip": "trip",
    "repeatability": "repeatability",
    "tolerance_up": "tolerance_up",
    "instrument_error": "instrument_error",
    "raising_turns": "raising_turns",
    "inlet_turns": "inlet_turns",
    "inlet": "inlet",
}
_KINDS: Final[Mapping[str, JobKind]] = {"first": "first", "yearly": "yearly", "restart": "restart"}


def read_sheet(source: bytes | str, where: str = "sheet") -> Job:
    """Return the job of a sheet.

    Parameters
    ----------
    source
        The sheet, YAML.
    where
        Name of the file, for messages.

    Raises
    ------
    InputErrors
        Every field that cannot be used, with what was got and a remedy.

    Examples
    --------
    >>> job = read_sheet('format: steadyhead/job/1\\nkind: first\\nnumbers: {trip: 5.1 bar}')
    >>> round(job.trip)
    510000
    """
    try:
        text, _ = decoded(source)
        data = from_tree(read_tree(text)).data
    except Refusal as refusal:
        raise InputErrors((refusal,), where) from None
    if not isinstance(data, Mapping) or str(data.get("format", "")) != FORMAT:
        got = data.get("format", "nothing") if isinstance(data, Mapping) else "no fields"
        raise InputErrors(
            (InputError("format", f"got {got}.", f"Begin the sheet with 'format: {FORMAT}'."),), where
        )
    errors: list[InputError] = []
    values = _words(data, errors) | _numbers(data.get("numbers"), errors)
    values |= _stopwatch(data.get("stopwatch"), errors)
    left = data.get("last_left") or {}
    values["last_left"] = _numbers(left, errors, "last_left") if left else {}
    if errors:
        raise InputErrors(errors, where)
    return Job(**values)


def _words(data: Mapping[str, Any], errors: list[InputError]) -> dict[str, Any]:
    known = ("format", "kind", "layout", "numbers", "stopwatch", "last_left", *WORDS)
    for key in data:
        if key not in known:
            errors.append(
                InputError(str(key), "is no field of a job sheet.", f"Use one of: {', '.join(known)}.")
            )
    values: dict[str, Any] = {key: str(data[key]) for key in WORDS if data.get(key) is not None}
    kind, layout = str(data.get("kind", "first")), str(data.get("layout", LAYOUTS[0]))
    if kind not in JOB_KINDS:
        errors.append(InputError("kind", f"got {kind!r}.", f"Use one of: {', '.join(JOB_KINDS)}."))
    if layout not in LAYOUTS:
        errors.append(InputError("layout", f"got {layout!r}.", f"Use one of: {', '.join(LAYOUTS)}."))
    return values | {"kind": kind, "layout": layout}


def _numbers(data: Any, errors: list[InputError], field: str = "numbers") -> dict[str, Any]:
    if data is None:
        return {}
    if not isinstance(data, Mapping):
        errors.append(InputError(field, "holds no fields.", f"Write one of: {', '.join(NUMBERS)}."))
        return {}
    values: dict[str, Any] = {}
    for key, text in data.items():
        kind = NUMBERS.get(str(key), "pressure" if field == "last_left" else "")
        if not kind:
            errors.append(
                InputError(f"{field}.{key}", "is no number of a job.", f"Use one of: {', '.join(NUMBERS)}.")
            )
            continue
        try:
            values[str(key)] = parse(
                f"{text} turns" if kind == "turns" and str(text)[-1:].isdigit() else str(text), kind
            ).si
        except UnitError as error:
            errors.append(InputError(f"{field}.{key}", error.problem, error.remedy))
    return values


def _stopwatch(data: Any, errors: list[InputError]) -> dict[str, Any]:
    if data is None:
        return {}
    try:
        low, high = (parse(str(one), "time").si for one in data)
    except (TypeError, ValueError):
        errors.append(InputError("stopwatch", f"got {data!r:.60}.", "Write from and to, e.g. [5 s, 8 s]."))
        return {}
    return {"stopwatch": (low, high)}


def job_of(procedure: Procedure, unit: str = "bar") -> Job:
    """Return the numbers of a job from its plan.

    Of several streams the first is taken; each stream's own numbers are judged with the plan itself.
    """
    own: dict[str, float] = {}
    for name, value in procedure.limits.items():
        own.setdefault(name.split("@")[0], value)
    values: dict[str, Any] = {ours: own[theirs] for theirs, ours in _PLAN_NAMES.items() if theirs in own}
    if "stopwatch_from" in own and "stopwatch_to" in own:
        values["stopwatch"] = (own["stopwatch_from"], own["stopwatch_to"])
    return Job(name=procedure.station_name, kind=_KINDS.get(procedure.kind, "first"), unit=unit, **values)
