"""Map the stories of site work onto the public API of steadyhead: names only, no judgement here.

Each story entry becomes entries of ours: its note, then readings, acts, positions, what was expected.
The names of the story format stay in this folder.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from steadyhead.findings import Severity, tell
from steadyhead.records.entry import Entry
from steadyhead.records.job import Job
from steadyhead.units import parse
from steadyhead.visits.audit import allows_final, audit
from steadyhead.visits.audit.bare_flow import unit_of_flow

LAYOUTS = {
    "R0": "shut-off first",
    "LB": "low-flow stream",
    "building": "building",
    "SO_downstream": "shut-off last",
    "irrigation": "irrigation",
    "injection": "injection",
    "fire": "fire",
    "relief": "relief",
    "duty_standby": "duty and standby",
    "self_resetting": "self-resetting",
    "series": "two reducers",
}
VERBS = {
    "released": "tick",
    "identified": "look",
    "compared": "look",
    "recorded": "look",
    "test_mode_on": "alarm to test",
    "test_mode_off": "alarm live",
    "opened": "open",
    "closed": "shut",
    "cracked": "crack",
    "vented": "vent",
    "drained": "drain",
    "flushed": "flush",
    "cleaned": "clean",
    "bled": "bleed",
    "pumped": "pump",
    "raised": "raise",
    "lowered": "lower",
    "adjusted": "adjust",
    "marked": "mark",
    "locknut_tightened": "tighten nut",
    "locknut_slackened": "slacken nut",
    "defeated": "defeat",
    "restored": "restore",
    "injected": "inject",
    "tripped": "trip",
    "reset": "reset",
    "stroked_by_hand": "stroke by hand",
    "jumpered": "bridge contacts",
    "cable_lifted": "break wire",
    "cable_restored": "join wire",
    "measured": "look",
    "sealed": "seal",
    "seal_broken": "break seal",
    "second_look": "second look",
    "proved_tight": "prove tight",
    "opened_cover": "open cover",
    "closed_cover": "close cover",
    "removed": "remove",
    "corrected": "correct",
    "impairment_opened": "tag",
    "impairment_closed": "untag",
}
OBJECTS = {"impairment_opened": "fire impairment", "impairment_closed": "fire impairment"}
UNITS = {"degC": "°C", "mH2O": "m head", "m3/h": "m³/h"}
LEVELS = {Severity.STOP: "block", Severity.ASK: "flag", Severity.HEED: "flag", Severity.NOTE: "info"}
WORDS = {
    "RUN-32": "instrument_expired",
    "RUN-33": "instrument_too_coarse",
    "RUN-26": "gauge_not_live",
    "RUN-34": "lockup_with_flow",
    "RUN-35": "alarm_by_jumper",
    "RUN-27": "restore_missing",
    "RUN-36": "prediction_mismatch",
    "RUN-37": "closing_time_outside_window",
    "RUN-38": "trip_outside_band",
    "RUN-23": "proof_stale",
    "RUN-39": "as_found_not_first",
    "RUN-40": "reset_unsafe",
    "RUN-22": "moved_too_fast",
    "RUN-41": "fill_too_fast",
    "RUN-42": "bled_at_pressure",
    "RUN-30": "opened_under_pressure",
    "RUN-31": "second_look_missing",
    "RUN-43": "flow_test_incomplete",
}
PRESSURES = {
    "duty": "duty",
    "trickle_reading": "trickle_reading",
    "lockup_max": "lockup_highest",
    "alarm": "alarm",
    "trip": "trip",
    "standby_trip": "standby_trip",
    "relief_crack": "relief_crack",
    "trip_repeatability": "repeatability",
    "trip_tolerance_up": "tolerance_up",
    "instrument_share_of_tolerance": "instrument_error",
    "limit_at_datum": "limit",
    "inlet": "inlet",
}
FLOWS = {"duty_flow": "duty_flow", "trickle_flow": "trickle_flow"}
PLAIN = {
    "name": "name",
    "v2_opening_turns": "raising_turns",
    "iv1_turns": "inlet_turns",
    "shut_off_senses": "senses",
    "shut_off_kind": "shut_off",
    "limit_switch": "switch",
}
EXPECTED = {
    **{tap: tap for tap in ("T0", "T1", "T2", "T3", "T4")},
    "strainer_loss_at_max": "strainer loss at most",
    "trip": "trip",
}
LEFT = ("duty", "trip", "lockup", "standby_trip")


def judge(story: Mapping[str, Any]) -> dict[str, Any]:
    """Judge one story: the job's numbers and the entries in, findings out."""
    findings = audit(job(story), tuple(entries(story)))
    issues = [
        {
            "entry": int(finding.subject.split(".")[0]),
            "rule": WORDS.get(finding.code, str(finding.params["rule"])),
            "level": LEVELS[finding.severity],
            "text": tell(finding).statement,
        }
        for finding in findings
    ]
    return {"final_allowed": allows_final(findings), "issues": issues}


def job(story: Mapping[str, Any]) -> Job:
    """Return the job's numbers of a story."""
    station = story["station"]
    unit = _unit(station.get("unit", "bar"))
    flow = _unit(station.get("flow_unit") or _flow_unit(story))
    values: dict[str, Any] = {"kind": story["kind"], "unit": unit}
    values |= {ours: station[theirs] for theirs, ours in PLAIN.items() if station.get(theirs) is not None}
    for names, kind, symbol in ((PRESSURES, "pressure", unit), (FLOWS, "flow", flow)):
        values |= {
            ours: _si(station[theirs], kind, symbol)
            for theirs, ours in names.items()
            if station.get(theirs) is not None
        }
    values["layout"] = LAYOUTS.get(station.get("layout", "R0"), "shut-off first")
    left = station.get("last_as_left") or {}
    values["last_left"] = {k: _si(left[k], "pressure", unit) for k in LEFT if left.get(k) is not None}
    if station.get("stopwatch_window_s"):
        values["stopwatch"] = tuple(station["stopwatch_window_s"])
    return Job(**values)


def _flow_unit(story: Mapping[str, Any]) -> str:
    """Return the unit of the station's flows, which the format leaves open."""
    read = [r for row in story["entries"] for r in row.get("readings") or [] if r.get("flow") is not None]
    flows = [(r["flow"], _unit(r["flow_unit"])) for r in read if r.get("flow_unit")]
    return unit_of_flow(story["station"].get("duty_flow"), flows)


def entries(story: Mapping[str, Any]) -> Iterator[Entry]:
    """Yield the entries of a story in its order."""
    when = story["entries"][0]["time"] if story["entries"] else f"{story['date']}T00:00+00:00"
    for number, tool in enumerate(story.get("instruments", [])):
        yield _entry(story, f"0.{number}", "", "", when, "instrument", _instrument(tool))
    for row in story["entries"]:
        parts = tuple(_parts(row, story["station"].get("unit", "bar")))
        for number, (kind, payload) in enumerate(parts):
            yield _entry(
                story,
                f"{row['no']}.{number}",
                row.get("node") or "",
                row.get("by") or "",
                row["time"],
                kind,
                payload,
            )
    sign = story.get("sign_off")
    if sign:
        last = story["entries"][-1]
        yield _entry(story, f"{last['no']}.99", "K1", last.get("by") or "", last["time"], "sign", _sign(sign))


def _entry(
    story: Mapping[str, Any], key: str, node: str, who: str, when: str, kind: str, payload: Mapping[str, Any]
) -> Entry:
    return Entry(key, str(story.get("id", "")), node, "paper", 0, kind, payload, who, when)


def _parts(row: Mapping[str, Any], unit: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    yield "note", {"text": row.get("text") or ""}
    for reading in row.get("readings") or []:
        yield "reading", _reading(reading)
    for did in row.get("did") or []:
        yield from _did(did)
    for thing, place in (row.get("positions") or {}).items():
        yield "position", {"thing": thing, "is": str(place)}
    wanted = {EXPECTED[k]: v for k, v in (row.get("expected") or {}).items() if k in EXPECTED}
    if wanted:
        yield "observation", {"input": "expected", "value": {k: _amounts(v, unit) for k, v in wanted.items()}}
    if row.get("result") is not None:
        yield "observation", {"input": "result", "value": row["result"]}


def _did(did: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    verb, thing, detail = did.get("verb", ""), did.get("object") or "", str(did.get("detail") or "")
    if verb == "decided":
        yield "choice", {"choice": thing, "option": detail}
    elif verb == "alarm_received":
        yield "observation", {"input": "alarm received", "value": f"{thing}; {detail}"}
    elif verb == "deviation_raised":
        yield "deviation", {"about": thing, "what": detail, "owner": "as recorded"}
    else:
        yield "action", {"do": VERBS.get(verb, verb), "thing": OBJECTS.get(verb, thing), "detail": detail}


def _reading(reading: Mapping[str, Any]) -> dict[str, Any]:
    unit = _unit(reading.get("unit") or "")
    flow_unit = _unit(reading.get("flow_unit") or "L/s")
    hunting = reading.get("hunting")
    payload: dict[str, Any] = {
        "input": reading.get("tap") or "",
        "tap": reading.get("tap") or "",
        "instrument": reading.get("instrument") or "",
        "value": None if reading.get("value") is None else f"{reading['value']} {unit}",
        "flow": None if reading.get("flow") is None else f"{reading['flow']} {flow_unit}",
        "steady_for": reading.get("steady_s"),
        "as": reading.get("note") or "",
    }
    if reading.get("pipe_temp_c") is not None:
        payload["wall_temperature"] = f"{reading['pipe_temp_c']} °C"
    if hunting:
        payload["swing"] = _swing(hunting)
    if reading.get("as_read") is not None:
        payload["read_there"] = f"{reading['as_read']} {unit}"
        payload["read_at_height"] = reading.get("height_above_datum_m")
    return payload


def _swing(hunting: Any) -> Mapping[str, Any]:
    if not isinstance(hunting, Mapping):
        return {"words": str(hunting)}
    names = {
        "mean": "mean",
        "p_p": "peak_to_peak",
        "pp": "peak_to_peak",
        "peak_to_peak": "peak_to_peak",
        "period": "period",
        "period_s": "period",
    }
    return {names.get(str(key), str(key)): value for key, value in hunting.items()}


def _instrument(tool: Mapping[str, Any]) -> dict[str, Any]:
    unit = tool.get("unit") or ""
    low, high = tool.get("range") or (None, None)
    share = tool.get("class_pct_of_span")
    gauge = unit in ("bar", "kPa", "psi", "mH2O", "mbar", "MPa")
    payload = {
        "name": tool.get("id", ""),
        "what": tool.get("kind", ""),
        "calibrated": tool.get("calibrated") or "",
        "due": tool.get("due") or "",
        "class": None if share is None else share / 100.0,
        "quantity": "pressure" if gauge else "other",
    }
    if gauge and low is not None:
        payload |= {"low": f"{low} {_unit(unit)}", "high": f"{high} {_unit(unit)}"}
    return payload


def _sign(sign: Mapping[str, Any]) -> dict[str, Any]:
    pressures = ("duty", "trip", "lockup")
    left = dict(sign.get("as_left") or {})
    unit = _unit(left.pop("unit", "bar"))
    told = {k: f"{v} {unit}" for k, v in left.items() if k in pressures and isinstance(v, int | float)}
    return {"asks": sign.get("asked_for", "final"), "statement": sign.get("statement") or "", "as_left": told}


def _amounts(value: Any, unit: str) -> Any:
    if isinstance(value, list):
        return [_amounts(one, unit) for one in value]
    return f"{value} {_unit(unit)}" if isinstance(value, int | float) else value


def _unit(symbol: str) -> str:
    return UNITS.get(symbol, symbol)


def _si(value: float, kind: str, unit: str) -> float:
    return parse(f"{value} {unit}", kind).si
