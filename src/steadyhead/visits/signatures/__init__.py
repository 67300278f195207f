"""The signatures of a plan: what each plausible cause would make the gauges of a step show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from steadyhead.design.twin import SteadyTwin
from steadyhead.procedure.causes import weigh
from steadyhead.records.parts import Reducer
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Kind, Node, Procedure
from steadyhead.records.signature import Signature
from steadyhead.records.station import Station
from steadyhead.visits.gauging import taps_with_gauges
from steadyhead.visits.plan import build, figures
from steadyhead.visits.several.plan import judged_for
from steadyhead.visits.several.ways import Way, has_several, reaching
from steadyhead.visits.signatures import defaults
from steadyhead.visits.signatures.base import DESIGN, Base, for_visit
from steadyhead.visits.signatures.common import of_all
from steadyhead.visits.signatures.making import of_line
from steadyhead.visits.signatures.packing import plain_signature


def signatures(
    station: Station,
    kind: Kind,
    item: str = "",
    *,
    numbers: PlanNumbers | None = None,
    procedure: Procedure | None = None,
    draws: int = defaults.DRAWS,
    base: Base = DESIGN,
) -> Mapping[str, Signature]:
    """Return the signature of each step that has a band on a reading, by step id.

    Deterministic: the same station and plan give the same numbers. Of several streams each step of one stream
    has its signature from that stream as a line of its own, and a step of the whole station from what needs
    no flow through it: vented sections, trip, alarm. Of steps of all streams together the plan's own
    bands count.

    Parameters
    ----------
    station, kind, item
        As `steadyhead.visits.plan.plan`.
    numbers, procedure
        Figures and plan where they have been made already.
    draws
        Drawn stations behind every curve; fewer make half widths rougher.
    base
        Values as left by the visit before; what the plan sets anew is expected as designed all the same.

    Raises
    ------
    Refused
        The station cannot be tested as it stands.
    NotConverged
        The twin could not be settled.
    """
    base = for_visit(base, kind, item)
    numbers = figures(station, kind, item) if numbers is None else numbers
    procedure = build(station, kind, item, numbers) if procedure is None else procedure
    if not has_several(station):
        return _of(station, numbers, kind, procedure.nodes, draws, base)
    judged = judged_for(station, kind, item, numbers)
    found: dict[str, Signature] = {}
    lines: list[tuple[Station, PlanNumbers]] = []
    for way in judged.ways:
        own = numbers.streams.get(way.key)
        if own is None:
            continue
        line = reaching(way, numbers.together) if numbers.together is not None else way
        nodes = [node for node in procedure.nodes if _is_on(node, way, procedure)]
        found |= _of(line.station, own, kind, nodes, draws, base)
        lines.append((line.station, own))
    for line_station, own in lines[:1]:
        common = [n for n in procedure.nodes if n.id not in found and n.id not in procedure.streams]
        found |= _of(line_station, own, kind, common, draws, base, twin=False)
        model = SteadyTwin(line_station).model
        taps = taps_with_gauges(line_station, model.layout)
        reducers = [part for part in station.parts() if isinstance(part, Reducer)]
        rest = [node for node in procedure.nodes if node.id not in found]
        found |= of_all(model, taps, kind, rest, reducers)
    return found


def _is_on(node: Node, way: Way, procedure: Procedure) -> bool:
    """Return whether a step is one of a stream, or of a valve that is commissioned on it."""
    stream = procedure.streams.get(node.id)
    return stream == way.key if stream is not None else node.id.partition(".")[2] in way.own


def _of(
    station: Station,
    numbers: PlanNumbers,
    kind: Kind,
    nodes: Sequence[Node],
    draws: int,
    base: Base,
    *,
    twin: bool = True,
) -> dict[str, Signature]:
    model = SteadyTwin(station).model
    taps = taps_with_gauges(station, model.layout)
    return of_line(model, numbers, taps, kind, nodes, draws, twin=twin, base=base)


__all__ = ["DESIGN", "Base", "plain_signature", "signatures", "weigh"]
