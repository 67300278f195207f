"""Curves of every state: drawn stations read by the twin, taken apart into what moves them together.

At each flow the drawn readings are fitted by a mean, a slope with the day's supply pressure and one with the
standing of the pilots; the half width is what is left over. Errors of gauges are not in it: they come with
the instrument that was read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import copysign, hypot

import numpy as np
from numpy.typing import NDArray

from steadyhead.records.signature import Curve
from steadyhead.visits.gauging import Tap
from steadyhead.visits.sampling import draw
from steadyhead.visits.signatures import defaults as d
from steadyhead.visits.signatures.states import STILL, Drawn, Site
from steadyhead.visits.signatures.twin import SOUND, Change
from steadyhead.visits.tolerances import parameters
from steadyhead.visits.trial import WaterTable

Array = NDArray[np.float64]
_LEAST_ROWS = 5
"""Fewest drawn stations with an answer a curve is made from."""
_LEAST_HALF = 200.0
"""Least half width. [Pa]"""
_STARVED_HALF = 0.15e5
"""Half width of a place that is starved: its hose may stand full or empty. [Pa]"""
_STEEPEST = 50.0
"""Most that a value below nothing may lie below, over the last one above. [1]"""
_UNMOVED = 0.5 * d.SAME
"""A change that moves nothing by more at the station as stated is not asked of the drawn ones. [Pa]"""
BELOW = 0.7
"""Where less passes than the table's flow, what is not starved reads as at this share of what passes."""


@dataclass(frozen=True)
class Tables:
    """Curves by ``state/place``: of the sound station, and of each change as far as they differ.

    most: by state, of each change.
    """

    sound: Mapping[str, Curve]
    changed: tuple[Mapping[str, Curve], ...]
    most: tuple[Mapping[str, float], ...]


class Crowd:
    """The drawn stations of one line, asked together.

    Parameters
    ----------
    site
        The line and what is done there.
    taps
        By role; their heights are put on the readings.
    draws
        Number of stations.
    """

    def __init__(self, site: Site, taps: Mapping[str, Tap], draws: int = d.DRAWS) -> None:
        model = site.model
        listed = parameters(model.station, model.layout, (), ())
        values = draw(listed, draws, d.SEED)
        kelvin = values["water.temperature"]
        water = WaterTable(
            float(kelvin.min()), float(kelvin.max()), model.atmosphere + model.station.supply.typical.si
        )
        columns = {name: column.tolist() for name, column in values.values.items()}
        rows = [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]
        self.site, self.taps = site, taps
        self.drawn = [Drawn(site, row, water) for row in rows]
        self.nominal = Drawn(site, {p.name: p.as_stated for p in listed}, water)
        self.supply = _standard(values["supply.day"])
        self.settings: dict[str, Array] = {}

    def tables(self, states: Iterable[str], changes: Sequence[Change]) -> Tables:
        """Return the curves of some states."""
        sound: dict[str, Curve] = {}
        changed: list[dict[str, Curve]] = [{} for _ in changes]
        most: list[dict[str, float]] = [{} for _ in changes]
        first = {id(change): number for number, change in reversed(list(enumerate(changes)))}
        for state in states:
            own = self._curves(state, SOUND, None)
            sound |= own
            usual = self._nominal(state, SOUND, None)
            for number, change in enumerate(changes):
                same = first[id(change)]
                if same < number:  # of several causes that change the same
                    changed[number], most[number] = changed[same], most[same]
                    continue
                bound = self.nominal.most(state, change)
                if bound is None and not _moves(self._nominal(state, change, None), usual):
                    continue
                curves = self._curves(state, change, bound)
                changed[number] |= {
                    key: _wider(curve, own[key])
                    for key, curve in curves.items()
                    if key in own and differs(curve, own[key])
                }
                if bound is not None:
                    most[number][state] = bound
        return Tables(sound, tuple(changed), tuple(most))

    def _nominal(self, state: str, change: Change, most: float | None) -> list[dict[str, float]]:
        """Return what the station as stated reads at each flow."""
        return [self.nominal.read(state, change, flow) for flow in _passing(self.site.flows(state), most)]

    def _curves(self, state: str, change: Change, most: float | None) -> dict[str, Curve]:
        flows = self.site.flows(state) or (0.0,)
        starved = self.nominal.starved(state, change, most) if most is not None else frozenset[str]()
        rows = [[one.read(state, change, flow) for flow in _passing(flows, most)] for one in self.drawn]
        setting = self._setting(state)
        found = {}
        for place in rows[0][0]:
            if place not in self.taps or (place == "T4" and state != "served"):
                continue
            table = np.array([[at.get(place, np.nan) for at in row] for row in rows], dtype=np.float64)
            if place in starved:
                table = np.nan_to_num(table)
            curve = self._curve(table, setting, self.taps[place])
            if curve is not None and place in starved and most is not None:
                curve = _starved(curve, flows, most)
            if curve is not None:
                found[f"{state}/{place}"] = curve
        return found

    def _curve(self, table: Array, setting: Array, tap: Tap) -> Curve | None:
        """Return a curve from drawn readings; flows that many stations cannot pass are as the one before."""
        known = np.isfinite(table)
        least = min(_LEAST_ROWS, len(table))
        if known.all():
            rows = _parts(table, self.supply, setting)
        else:
            columns = []
            for column, good in zip(table.T, known.T, strict=True):
                if good.sum() >= least:
                    columns.append(_parts(column[good, None], self.supply[good], setting[good]))
                elif columns:
                    columns.append(columns[-1])
            if len(columns) < len(table.T):
                return None
            rows = tuple(np.concatenate(each) for each in zip(*columns, strict=True))
        value, supply, pilots, half = (tuple(each.tolist()) for each in rows)
        height = tap.at_tap(0.0, self.site.model.density)
        return Curve(tuple(at + height for at in value), supply, pilots, half)

    def _setting(self, state: str) -> Array:
        """Return how the pilots stand in each drawn station: as found or as set, the supply taken out."""
        base = "trickle_set" if state in ("trickle_set", "duty", "flow", *_SET) else "trickle"
        if base not in self.settings:
            flow = self.site.trickle
            outlet = np.array([one.read(base, SOUND, flow)["T3"] for one in self.drawn])
            slope = float(np.nan_to_num(outlet) @ self.supply) / len(self.drawn)
            self.settings[base] = _standard(np.nan_to_num(outlet) - slope * self.supply)
        return self.settings[base]


def _passing(flows: Sequence[float], most: float | None) -> tuple[float, ...]:
    """Return flows that can pass in place of the flows of an axis; one of none where no flow counts."""
    flows = flows or (0.0,)
    return tuple(flows) if most is None else tuple(min(flow, BELOW * most) for flow in flows)


def _moves(one: Sequence[Mapping[str, float]], usual: Sequence[Mapping[str, float]]) -> bool:
    """Return whether a change moves any reading of the station as stated, or leaves one without an answer."""
    return any(
        not abs(value - sound.get(place, value)) <= _UNMOVED
        for at, sound in zip(one, usual, strict=True)
        for place, value in at.items()
    )


_SET = tuple(f"{name}{end}" for name in STILL if name.endswith("_set") for end in ("", ".early"))


def _wider(curve: Curve, sound: Curve) -> Curve:
    """Return a curve with what the twin may be off once something in it is wrong.

    That goes the same way at every flow, so it is put to the standing of the pilots, not to the half width.
    """
    rows = zip(curve.setting, curve.value, sound.value, strict=True)
    loads = []
    for own, value, usual in rows:
        off = d.MODEL_SHARE * (max(value, 0.0) - usual)
        loads.append(copysign(hypot(own, off), own if abs(own) > abs(off) else off))
    return Curve(curve.value, curve.supply, tuple(loads), curve.half)


def _starved(curve: Curve, flows: Sequence[float], most: float) -> Curve:
    """Return the curve of a starved place: nothing is left at the most that passes, nor beyond.

    The first flow beyond is given the value below nothing that puts the crossing there; who reads the curve
    takes nothing for it.
    """
    beyond = next((i for i, flow in enumerate(flows) if flow > most), len(flows))
    value, half = list(curve.value), list(curve.half)
    for i in range(beyond, len(flows)):
        value[i], half[i] = 0.0, _STARVED_HALF
    if 0 < beyond < len(flows):
        last, first, bound = flows[beyond - 1] ** 2, flows[beyond] ** 2, max(most, 1e-12) ** 2
        value[beyond] = -value[beyond - 1] * min((first - bound) / max(bound - last, 1e-3 * bound), _STEEPEST)
        half[beyond] = half[beyond - 1]
    still = [0.0 if i >= beyond else number for i, number in enumerate(curve.supply)]
    pilots = [0.0 if i >= beyond else number for i, number in enumerate(curve.setting)]
    return Curve(tuple(value), tuple(still), tuple(pilots), tuple(half))


def _standard(values: Array) -> Array:
    spread = float(values.std())
    return (values - values.mean()) / spread if spread > 1e-9 else np.zeros_like(values)


def _parts(values: Array, supply: Array, setting: Array) -> tuple[Array, ...]:
    """Return mean, both slopes and what is left over as one standard deviation, of each column."""
    table = np.column_stack([np.ones_like(supply), supply, setting])
    found, *_ = np.linalg.lstsq(table, values, rcond=None)
    left = values - table @ found
    free = max(len(values) - 3, 1)
    half = np.maximum(np.sqrt((left * left).sum(axis=0) / free), _LEAST_HALF)
    return found[0], found[1], found[2], half


def differs(one: Curve, other: Curve) -> bool:
    """Return whether two curves can be told apart at some flow."""
    pairs = zip(one.value, other.value, one.half, other.half, strict=True)
    return any(abs(a - b) > max(d.SAME, d.SAME_HALVES * max(h, g)) for a, b, h, g in pairs)
