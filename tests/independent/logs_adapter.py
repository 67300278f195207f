"""Map logger cases onto the public API of steadyhead: names only, no judgement here.

The names of the case format stay in this folder.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from steadyhead.records.logger import Channel, Context, GaugeVisit, Known
from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import Event, Happening, tell
from steadyhead.watch.reading import as_stated, propose

BAR, HOUR = 1e5, 3600.0
QUANTITIES = {
    "inlet pressure": "p_in",
    "pressure between the valves": "p_mid",
    "outlet pressure": "p_out",
    "flow": "flow",
    "travel": "position",
    "shut-off closed": "so_closed",
    "temperature": "temperature",
    "battery": "battery",
    "meter index": "volume",
}
STATISTICS = {"spot": "spot", "mean": "mean", "minimum": "min", "maximum": "max"}
UNITS = {
    "m head": "mH2O",
    "m³/h": "m3/h",
    "US gpm": "gpm",
    "m³/d": "m3/d",
    "%": "pct",
    "fraction": "frac",
    "°C": "degC",
    "m³": "m3",
    "bar a": "bar",
    "kPa a": "kPa",
    "mbar a": "mbar",
    "MPa a": "MPa",
    "psi a": "psi",
}
FACTS = {
    "hour twice": "dst_fold",
    "hour missing": "dst_spring",
    "overlap": "overlap",
    "out of order": "out_of_order",
    "descending": "descending",
    "change of format": "format_change",
    "second header": "second_header",
    "event rows": "event_rows",
    "missing marks": "missing_marks",
    "flagged samples": "flagged_samples",
    "stamps cut": "truncated_stamps",
    "file cut off": "truncated_file",
    "footer": "footer",
    "hidden rows": "hidden_rows",
    "nothing in it": "no_data",
    "by exception": "irregular_hold",
    "date order open": "date_order_ambiguous",
}
QUESTIONS = {"date order": "date_order"}
DEFECTS = {
    Code.CLOCK_OFFSET: "clock_offset",
    Code.CLOCK_WHILE: "clock_offset",
    Code.CLOCK_DRIFT: "clock_drift",
    Code.GAP: "gap",
    Code.SPIKE: "spike",
    Code.STUCK: "stuck",
    Code.QUANTISATION: "quantisation",
    Code.UNIT: "unit_confusion",
    Code.ABSOLUTE: "gauge_absolute",
    Code.DRIFT: "offset_drift",
    Code.CLIPPING: "clipping",
    Code.SWAP: "channel_swap",
    Code.PULSES: "pulse_scaling",
    Code.COCK_SHUT: "sensor_cock_shut",
}
"""An hour of a change of clocks is a fact of reading there; an offset of datum has no name there."""
EVENTS = {
    Event.TRIP: "trip",
    Event.TRIPPED_AGAIN: "restart_retrip",
    Event.SUPPLY_LOSS: "supply_loss",
    Event.BURST: "burst",
    Event.SURGE: "surge",
    Event.HUNTING: "hunting",
    Event.CREEP: "night_creep",
    Event.STRAINER: "strainer_blinding",
    Event.SETTING: "set_change",
    Event.DEMAND: "demand_change",
}
SIZES = {"Pa": 1 / BAR, "m3/s": HOUR}


def read(files: list[str], context: Mapping[str, Any]) -> dict[str, Any]:
    """Read the files of one case."""
    with TemporaryDirectory() as folder:
        found = propose([Path(one) for one in files], told(context), Path(folder))
        channels = [_channel(one, as_stated(one, frame).collect()) for one, frame in found.channels]
        judged = judge(found.channels, told(context))
        happened = tell(found.channels, told(context), judged)
    names = [(one.id, QUANTITIES.get(one.quantity, "other")) for one, _ in found.channels]
    facts = {FACTS[one.code] for one in found.facts if one.code in FACTS}
    asked = {QUESTIONS[one.field] for one in found.doubts if one.field in QUESTIONS}
    asked |= {"date_order" for one in found.facts if one.code == "date order open"}
    return {
        "channels": channels,
        "findings": [
            *(
                {**_finding(DEFECTS[one.code], one, dict(names)), "times": [t.isoformat() for t in one.times]}
                for one in judged.episodes
                if one.code in DEFECTS
            ),
            *(
                _finding(EVENTS[one.code], one, dict(names))
                for one in happened.happenings
                if one.code in EVENTS
            ),
        ],
        "import_facts": sorted(facts),
        "asked": sorted(asked),
    }


def told(context: Mapping[str, Any]) -> Context:
    """Return the context in our records."""
    station = context.get("station") or {}
    known = Known(
        _times(station.get("duty_lockup_bar"), BAR),
        _times(station.get("trip_bar"), BAR),
        _times(station.get("inlet_bar_about"), BAR),
        _times(station.get("flow_m3h_average_about"), 1 / HOUR),
    )
    visits = tuple(
        GaugeVisit(
            datetime.fromisoformat(one["when_utc"]),
            _times(one.get("T1_bar"), BAR),
            _times(one.get("T3_bar"), BAR),
            _times(one.get("flow_m3h_by_meter"), 1 / HOUR),
            one.get("pressure_logger_clock_minus_true_s"),
        )
        for one in context.get("visits_with_test_gauge") or ()
    )
    return Context(
        context.get("zone") or "",
        context.get("zone_note") or "",
        context.get("interval_s"),
        known,
        visits,
    )


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _channel(channel: Channel, samples: Any) -> dict[str, Any]:
    values: Sequence[float | None] = samples["v"].to_list()
    return {
        "quantity": QUANTITIES.get(channel.quantity, "other"),
        "stat": STATISTICS[channel.statistic],
        "unit": UNITS.get(channel.unit_as_found, channel.unit_as_found),
        "t": (samples["t"].dt.epoch("us") / 1e6).to_list(),
        "v": values,
    }


def _finding(kind: str, one: Episode | Happening, names: Mapping[str, str]) -> dict[str, Any]:
    return {
        "kind": kind,
        "channel": names[one.channels[0]] if one.channels else None,
        "start": one.start.isoformat(),
        "end": one.end.isoformat(),
        "magnitude": _times(one.magnitude, SIZES.get(one.unit, 1.0)),
    }
