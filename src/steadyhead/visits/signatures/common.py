"""Signatures of steps that all streams of a station share: their bands moved by what may be wrong.

The twin is asked for one line at a time. Where several hold the outlet together, what is expected is the band
of the plan, and a cause moves it by what is known of it without a solve.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from steadyhead.hydraulics import Model
from steadyhead.records.parts import Reducer
from steadyhead.records.plan_numbers import Band
from steadyhead.records.procedure import Expect, Kind, Node
from steadyhead.records.signature import Curve, Grade, Reads, Signature
from steadyhead.visits.gauging import Tap
from steadyhead.visits.signatures import defaults as d
from steadyhead.visits.signatures.beside import curve_of, moved
from steadyhead.visits.signatures.faults import Fault, both_ways, ladder
from steadyhead.visits.signatures.making import Bench, Known
from steadyhead.visits.signatures.states import Site
from steadyhead.visits.signatures.twin import SOUND

_WHY = "why."
_ALL = "all "
"""Before the name of a state: as all streams together stand in it."""
_OUT = ("T3", "T4")


def of_all(
    model: Model, taps: Mapping[str, Tap], kind: Kind, nodes: Iterable[Node], reducers: Sequence[Reducer]
) -> dict[str, Signature]:
    """Return the signatures of steps of all streams, by step id; only those with a band on a pressure.

    Parameters
    ----------
    model, taps
        Of one line, whose inlet valve, outlet valve, drain and taps at the outlet are the station's.
    kind
        Of the visit.
    nodes
        The steps.
    reducers
        Of all streams.
    """
    found = {}
    for node in nodes:
        curves, reads = _banded(node, {tap.id: role for role, tap in taps.items()})
        if not reads:
            continue
        site = Site(model, 1.0, 0.0, (), 0.0)
        one = Bench(site, curves, list(_known(model, curves, reducers)), taps, kind).signature(node.id, reads)
        if one is not None:
            found[node.id] = one
    return found


def _banded(node: Node, roles: Mapping[str, str]) -> tuple[dict[str, Curve], list[Reads]]:
    """Return the bands on pressures of a step as curves, and which reading each belongs to."""
    inputs = {one.name: one for one in node.inputs}
    curves: dict[str, Curve] = {}
    reads = []
    for expect in node.expect:
        asked = inputs.get(expect.input)
        band = _band(expect)
        if asked is None or asked.quantity != "pressure" or band is None:
            continue
        place = roles.get(asked.tap, asked.tap)
        state = f"{_ALL}{expect.why.id.removeprefix(_WHY)}"
        curves[f"{state}/{place}"] = curve_of(band)
        reads.append(Reads(asked.name, state, place, "", 0.0, expect.where))
    return curves, reads


def _band(expect: Expect) -> Band | None:
    """Return what is expected as a band; one with a single end is taken as wide on the other side."""
    low, high, middle = expect.low, expect.high, expect.nominal
    if middle is None:
        return None if low is None or high is None else Band(low, high, 0.5 * (low + high))
    if low is None and high is None:
        return None
    low = 2.0 * middle - high if low is None and high is not None else low
    high = 2.0 * middle - low if high is None and low is not None else high
    return None if low is None or high is None else Band(low, high, middle)


def _known(model: Model, curves: Mapping[str, Curve], reducers: Sequence[Reducer]) -> Iterator[Known]:
    out = [key for key in curves if key.partition("/")[2] in _OUT]
    low, high = tuple(-size for size in d.SHIFT), d.SHIFT
    for reducer in reducers:
        words = {"rv": reducer.id}
        yield _moved(curves, out, 25, reducer.id, (*low, *high), both_ways(len(high)), words)
    inlet, outlet = model.layout.inlet_valve, model.layout.outlet_valve
    yield _moved(curves, out, 32, "supply", low, ladder(len(low)), {})
    if inlet is not None:
        yield _moved(curves, out, 29, inlet.id, low, ladder(len(low)), {"valve": inlet.id})
    behind = [key for key in out if key.endswith("/T4")]
    if outlet is not None and behind:
        yield _moved(curves, behind, 30, outlet.id, low, ladder(len(low)), {"valve": outlet.id})
    if any(key.startswith(f"{_ALL}served") for key in out):
        yield _moved(curves, out, 35, "zone", d.BACKFEED, ladder(len(d.BACKFEED)), {})


def _moved(
    curves: Mapping[str, Curve],
    keys: Sequence[str],
    row: int,
    part: str,
    offsets: Sequence[float],
    spans: tuple[tuple[int, int], ...],
    words: Mapping[str, str],
) -> Known:
    grades = tuple(Grade({key: moved(curves[key], offset=by) for key in keys}) for by in offsets)
    return Known(Fault(f"{row}.{part}", row, str(row), str(row), (SOUND,), spans, words), grades)
