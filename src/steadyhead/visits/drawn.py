"""Drawn stations read by the twin: the band that each question of a plan is answered within."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from math import isfinite

import numpy as np

from steadyhead.findings import Finding, Severity
from steadyhead.hydraulics import Model
from steadyhead.records.plan_numbers import Band
from steadyhead.records.station import Station
from steadyhead.visits import defaults as d
from steadyhead.visits.questions import Question
from steadyhead.visits.readings import Work, readings
from steadyhead.visits.sampling import Samples, draw
from steadyhead.visits.tolerances import parameters
from steadyhead.visits.trial import WaterTable

KEPT = 32
"""Stations whose drawn readings are kept for the next plan of theirs. [1]"""


@dataclass(frozen=True)
class Asked:
    """What decides the drawn readings of a station; they are the same for a plan of every kind."""

    station: Station
    inlet_share: float
    samples: int
    work: Work = field(compare=False)


@lru_cache(maxsize=KEPT)
def drawn(asked: Asked) -> tuple[Mapping[str, Band], tuple[Finding, ...]]:
    """Return the bands by question, and a finding for each question without an answer."""
    work, station = asked.work, asked.station
    tools = {tap.gauge.id: tap.gauge for tap in work.taps.values()}
    listed = parameters(station, work.model.layout, tools.values(), work.asked)
    values = draw(listed, asked.samples, d.SEED)
    water = _water(work.model, values)
    columns = {name: column.tolist() for name, column in values.values.items()}
    names = tuple(columns)
    rows = [
        readings(work, dict(zip(names, row, strict=True)), water)
        for row in zip(*columns.values(), strict=True)
    ]
    nominal = readings(work, {p.name: p.as_stated for p in listed}, water)
    found, unanswered = {}, []
    for question in work.asked:
        band = band_of([row[question.key] for row in rows], nominal[question.key])
        if band is None:
            unanswered.append(_unanswered(question))
        else:
            found[question.key] = band
    return found, tuple(unanswered)


def _water(model: Model, values: Samples) -> WaterTable:
    kelvin = values["water.temperature"]
    pressure = model.atmosphere + model.station.supply.typical.si
    return WaterTable(float(kelvin.min()), float(kelvin.max()), pressure)


def band_of(values: Iterable[float], nominal: float) -> Band | None:
    """Return the central band of drawn readings, or None where too few of them exist.

    Parameters
    ----------
    values
        Readings of the drawn stations; NaN where the twin had no answer.
    nominal
        Reading of the station as stated.

    Notes
    -----
    Edges at the order statistics p (n + 1), which hold the share p on average whatever the distribution
    (Weibull plotting position; Hyndman and Fan 1996, type 6, from memory). Where the station as stated lies
    at the edge of what may be found (a screw at its lowest), the band is widened to hold it.
    """
    every = np.array(list(values), dtype=np.float64)
    known = every[np.isfinite(every)]
    if len(known) < max(d.LEAST_ANSWERED * len(every), 1.0) or not isfinite(nominal):
        return None
    tail = 0.5 * (1.0 - d.BAND_PROBABILITY)
    low, high = np.quantile(known, (tail, 1.0 - tail), method="weibull")
    return Band(min(float(low), nominal), max(float(high), nominal), nominal, d.BAND_PROBABILITY)


def _unanswered(question: Question) -> Finding:
    words = {"question": question.key, "meaning": question.meaning}
    return Finding("NUM-05", f"expected reading {question.key}", Severity.HEED, params=words)
