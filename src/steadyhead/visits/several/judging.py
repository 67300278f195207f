"""May the streams of a station be tested as they stand, and with which figures? Judged stream by stream."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from steadyhead.errors import InputError
from steadyhead.findings import Finding, Severity
from steadyhead.findings.model import in_order
from steadyhead.records.parts import ExpansionVessel, Relief, Strainer
from steadyhead.records.plan_numbers import Band, PlanNumbers, Together, Warmed
from steadyhead.records.procedure import Kind
from steadyhead.records.station import Station
from steadyhead.visits.facts import Facts
from steadyhead.visits.feasibility import feasibility
from steadyhead.visits.gauging import taps_with_gauges
from steadyhead.visits.numbers import work_out
from steadyhead.visits.several.graph import order_of
from steadyhead.visits.several.together import bands, together
from steadyhead.visits.several.ways import MODES, Mode, Way, reaching, ways_of_visit
from steadyhead.visits.tables.desk import Desk
from steadyhead.visits.tables.streams import Stream
from steadyhead.visits.warming import warmed

COMMON = ("PLAN-25", "PLAN-23", "PLAN-24", "PLAN-26", "PLAN-34")
"""Told once for the station, whichever stream it was found on."""
NOT_ON_OUTLET = "PLAN-38"
"""Told as what the streams share where it stands on the common line."""
OTHER_FEED = "PLAN-25"
"""Not told where another stream in service holds the zone."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What the plan of a station with several streams would rest on.

    ways: in the order they are tested, empty where the plan is refused; facts: by key of the way; mode: what
    is cut off; findings: everything to be told, stops first.
    """

    ways: tuple[Way, ...]
    facts: Mapping[str, Facts]
    mode: Mode
    findings: tuple[Finding, ...]


def judge(station: Station, kind: Kind, *, mode: Mode | None = None, whole: bool = False) -> Judged:
    """Return whether each stream of a station can be tested, and how it is cut off for a visit.

    whole: all of it was isolated, or is commissioned for the first time. Where taking out one stream alone is
    not possible the whole station goes out; the findings say which stream lacks what.
    """
    whole = whole or kind == "first"
    usual: tuple[Mode, ...] = ("station out", "stream out") if whole else MODES
    tried = [_in_mode(station, one, whole=whole) for one in ((mode,) if mode else usual)]
    fine = next((found for found in tried if found.ways), None)
    if fine is None:
        refused = next((found for found in tried if found.mode == "station out"), tried[0])
        other = [f for found in tried if found is not refused for f in found.findings if f.code == "PLAN-47"]
        ends = any(finding.code == "PLAN-04" for finding in refused.findings)
        return replace(refused, findings=in_order((*refused.findings, *(other if ends else ()))))
    if fine.mode == "stream out" or whole:
        return fine
    missed = _in_mode(station, "stream out").findings
    told = [replace(f, severity=Severity.HEED) for f in missed if f.code == "PLAN-47"]
    return replace(fine, findings=in_order((*told, *fine.findings)))


def _in_mode(station: Station, mode: Mode, *, whole: bool = False) -> Judged:
    found = ways_of_visit(station, mode)
    if not found.ways:
        return Judged((), {}, mode, in_order(found.findings))
    facts: dict[str, Facts] = {}
    unfed = _unfed(found.ways, mode, whole=whole)
    told: list[Finding] = []
    for way in found.ways:
        judged = feasibility(way.station)
        told += [of_stream(finding, way) for finding in judged.findings if _counts(finding, way, unfed, mode)]
        if judged.facts is not None:
            facts[way.key] = replace(
                _facts(judged.facts, way, first=way is found.ways[0]),
                none_serves=way.key in unfed,
                served=_served(station) if mode == "stream out" else (),
                strainers_served=_strainers(station) if mode == "stream out" else (),
            )
    if mode == "stream out":
        told += _in_common(station, whole=whole)
    whole = len(facts) == len(found.ways) and not any(f.severity is Severity.STOP for f in told)
    different = [one for number, one in enumerate(told) if one not in told[:number]]
    return Judged(found.ways if whole else (), facts if whole else {}, mode, in_order(different))


def _served(station: Station) -> tuple[str, ...]:
    return tuple(part.id for part in station.line if isinstance(part, ExpansionVessel))


def _strainers(station: Station) -> tuple[str, ...]:
    return tuple(part.id for part in station.line if isinstance(part, Strainer))


def _unfed(ways: tuple[Way, ...], mode: Mode, *, whole: bool) -> frozenset[str]:
    """Return the keys of the ways beside which nothing feeds the consumers while they are out alone.

    whole: none of them serves before its turn.
    """
    if mode != "stream out":
        return frozenset()
    return frozenset(
        way.key
        for number, way in enumerate(ways)
        if all(other is way or other.locked_shut or (whole and at > number) for at, other in enumerate(ways))
    )


def _in_common(station: Station, *, whole: bool) -> list[Finding]:
    """Return what the streams share and no visit with one stream out at a time looks into.

    whole: all of the station is out at first, so that its vessels are read.
    """
    heed = Severity.HEED
    vessels = () if whole else _served(station)
    found = [Finding("PLAN-48", name, heed, params={"vessel": name}) for name in vessels]
    if station.alarm is not None and not station.equipment.hand_pump:
        found.append(Finding("PLAN-51", "alarm", heed))
    for part in station.line:
        if isinstance(part, Relief):
            found.append(Finding("PLAN-49", part.id, heed, params={"relief": part.id}))
        elif isinstance(part, Strainer):
            found.append(Finding("PLAN-50", part.id, heed, params={"strainer": part.id}))
    return found


def _facts(facts: Facts, way: Way, *, first: bool) -> Facts:
    """Return the facts of a way: what an earlier one has proved stands in service, the alarm once tried."""
    station = facts.station if first else facts.station.model_copy(update={"alarm": None})
    proved_before = any(shut_off.id not in way.own for shut_off in facts.layout.shut_offs)
    return replace(
        facts,
        station=station,
        own=frozenset(way.own),
        is_live=facts.is_live and not proved_before,
        others_serve=way.mode == "stream out",
    )


def _counts(finding: Finding, way: Way, unfed: frozenset[str], mode: Mode) -> bool:
    """Return whether a finding of a line alone holds for that line as a stream of its station."""
    if finding.code == NOT_ON_OUTLET and mode == "stream out" and finding.subject in way.outer:
        return False
    if finding.code == OTHER_FEED:
        return mode == "station out" or way.key in unfed
    shared = way.view.shared
    return not any(
        str(value) in shared for value in (finding.subject.split(":")[0], *finding.params.values())
    )


def of_stream(finding: Finding, way: Way) -> Finding:
    """Return a finding of a stream as the station tells it: with the stream's name, save on shared parts."""
    if finding.code in COMMON or any(word.strip(":") in way.outer for word in finding.subject.split()):
        return finding
    return replace(finding, subject=f"stream {way.view.id}: {finding.subject}")


def figures(station: Station, judged: Judged, kind: Kind) -> PlanNumbers:
    """Return the figures of every stream alone and of all together.

    The outer record holds what the streams show together: bands, drain budget and turn tables of all; its
    other fields are those of the first stream.

    Raises
    ------
    NotConverged
        The twin of a stream, or of all, could not be settled.
    """
    shown = together(station, judged.ways)
    alone = {way.key: work_out(reaching(way, shown).station, kind) for way in judged.ways}
    hot = _warmed(judged.ways, shown)
    alone = {key: replace(own, warmed=hot) for key, own in alone.items()}
    return merged(judged.ways, alone, bands(station, judged.ways, shown), shown)


def _warmed(ways: tuple[Way, ...], shown: Together) -> Warmed | None:
    """Return what heating brings with all streams in service: from the lock-up of the one that leads."""
    first = ways[0]
    leading = next((way for way in ways if way.last_reducer.id == shown.leader), first)
    return warmed(leading.view.station, taps_with_gauges(first.station, first.layout)["T3"])


def merged(
    ways: tuple[Way, ...], alone: Mapping[str, PlanNumbers], shown: Mapping[str, Band], facts: Together
) -> PlanNumbers:
    """Return the figures of streams as one record; shown: bands of the streams together."""
    first = alone[ways[0].key]
    own = {way.key: set(way.own) for way in ways}
    tables = tuple(t for way in ways for t in alone[way.key].turn_tables if t.valve in own[way.key])
    told = [of_stream(finding, way) for way in ways for finding in alone[way.key].findings]
    rows = tuple(replace(u, node=f"{u.node}@{w.key}") for w in ways for u in alone[w.key].drain_budget)
    return replace(
        first,
        bands=dict(shown),
        together=facts,
        turn_tables=tables,
        drain_budget=rows,
        flow_points=facts.flows,
        target_reading={},
        findings=tuple(one for number, one in enumerate(told) if one not in told[:number]),
        streams=dict(alone),
    )


def desks(
    station: Station, judged: Judged, numbers: PlanNumbers, past_due: tuple[str, ...]
) -> tuple[Stream, ...]:
    """Return each way with its writing desk.

    Raises
    ------
    InputError
        The figures are those of another way of cutting the streams off.
    """
    order = order_of(station.line)
    found = []
    for way in judged.ways:
        own = numbers.streams.get(way.key)
        if own is None:
            raise InputError("numbers", f"hold no figures of stream {way.key}.", "Work them out anew.")
        good = tuple(gauge for gauge in own.good_gauges if gauge not in past_due)
        mixed = replace(own, good_gauges=good, bands={**own.bands, **numbers.bands})
        if numbers.together is not None:
            way = reaching(way, numbers.together)
        facts = judged.facts[way.key]
        demand = way.station.demand
        facts = replace(facts, station=facts.station.model_copy(update={"demand": demand}))
        found.append(Stream(way, Desk(facts, mixed, past_due), order))
    return tuple(found)
