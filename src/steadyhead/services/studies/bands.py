"""Stability and chances as pages: bands in tables and sentences, what moved them, what they do not cover."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter
from sqlalchemy import Connection

from steadyhead.records.chances import Chances
from steadyhead.records.stability import StabilityBands
from steadyhead.register import Register
from steadyhead.services.stations.head import StationHead
from steadyhead.services.stations.judged import FindingView
from steadyhead.services.studies.kept import StudyRow, content_of
from steadyhead.services.studies.shown import (
    Frozen,
    StudyHead,
    findings_of,
    first_look,
    heads_of,
    piece,
    read_views,
    study_parts,
)
from steadyhead.units import METRIC, UnitSet, say

STABILITY_HEADS = ("flow", "lift", "hunts in", "gain margin", "phase margin")
STABILITY_COVERS = (
    "Linear, about one flow at a time, at typical inlet pressure: it says from where on small swings die "
    "out, not how far large ones go. Nobody has measured what is moved here; a stopwatch at the valve "
    "narrows it."
)
CHANCES_COVERS = (
    "Tolerances are taken as independent of each other and even over their bands. What the file does not "
    "state a tolerance of is held. The interval is that of so many runs; it says nothing of the model."
)


class ReducerView(Frozen):
    """How quiet one reducer is. rows: as the heads of the table say; words: what follows from them."""

    reducer: str
    way: str
    inlet_case: str
    rows: tuple[tuple[str, ...], ...]
    words: tuple[str, ...]
    air: str


class StabilityView(Frozen):
    """Bands of stability."""

    station: StationHead
    study: StudyHead
    heads: tuple[str, ...]
    reducers: tuple[ReducerView, ...]
    findings: tuple[FindingView, ...]
    not_covered: str = STABILITY_COVERS


class WeightView(Frozen):
    """What moves a peak: the tolerance, its share of the variance, and where its band comes from."""

    tolerance: str
    share: float
    source: str


class LimitView(Frozen):
    """How often one limit is passed.

    share, low, high: of the runs, with its interval at 95 %; peaks: a tenth, half, nine tenths of the runs
    lie below. [Pa at datum]
    """

    component: str
    side: str
    limit_pa_at_datum: float
    limit: str
    share: float
    low: float
    high: float
    peaks_pa_at_datum: tuple[float, float, float]
    peaks: tuple[str, str, str]
    words: str
    weights_words: str
    weights: tuple[WeightView, ...]


class ChancesView(Frozen):
    """How often limits are passed in one event."""

    station: StationHead
    study: StudyHead
    words: str
    limits: tuple[LimitView, ...]
    unjudged: tuple[str, ...]
    findings: tuple[FindingView, ...]
    not_covered: str = CHANCES_COVERS


_BANDS: TypeAdapter[StabilityBands] = TypeAdapter(StabilityBands)
_CHANCES: TypeAdapter[Chances] = TypeAdapter(Chances)


def stability_view(
    register: Register, connection: Connection, row: StudyRow, today_canonical: str, units: UnitSet = METRIC
) -> StabilityView:
    """Return bands of stability as a page."""
    made = _made(register, row, units)
    return StabilityView(
        **heads_of(register, connection, row, today_canonical, units),
        heads=STABILITY_HEADS,
        reducers=tuple(ReducerView.model_validate(one) for one in made["reducers"]),
        findings=read_views(made["findings"]),
    )


def chances_view(
    register: Register, connection: Connection, row: StudyRow, today_canonical: str, units: UnitSet = METRIC
) -> ChancesView:
    """Return chances as a page."""
    made = _made(register, row, units)
    return ChancesView(
        **heads_of(register, connection, row, today_canonical, units),
        words=made["words"],
        limits=tuple(LimitView.model_validate(one) for one in made["limits"]),
        unjudged=tuple(made["unjudged"]),
        findings=read_views(made["findings"]),
    )


def prepare(register: Register, key: str, study: str, units: UnitSet = METRIC) -> None:
    """Make the page of a study ready."""
    first_look(register, key, study, units, _made)


def _made(register: Register, row: StudyRow, units: UnitSet) -> dict[str, Any]:
    parts = study_parts(row, units)

    def make() -> dict[str, Any]:
        told = content_of(register, row.content)
        if row.kind == "stability":
            return _stability(_BANDS.validate_python(told["bands"]), units)
        return _chances(_CHANCES.validate_python(told["chances"]), units)

    return piece(register, row.station, row.kind, parts, make)


def _stability(bands: StabilityBands, units: UnitSet) -> dict[str, Any]:
    from steadyhead.services.studies.stability_words import (
        IDLE,
        air_words,
        fit_words,
        flow_cells,
        moved_words,
        quiet_words,
    )

    reducers = []
    for one, air in zip(bands.reducers, bands.air, strict=True):
        fit = [] if one.fit is None else [fit_words(one.fit)]
        words = [IDLE] if one.is_idle else [quiet_words(one, units), *fit, moved_words(one)]
        reducers.append(
            {
                "reducer": one.reducer, "way": one.way, "inlet_case": one.inlet_case,
                "rows": [] if one.is_idle else [flow_cells(flow, units) for flow in one.at],
                "words": words, "air": air_words(air, units),
            }
        )  # fmt: skip
    return {"reducers": reducers, "findings": findings_of(bands.findings, units)}


def _chances(found: Chances, units: UnitSet) -> dict[str, Any]:
    from steadyhead.services.studies.stability_words import limit_words, runs_words, weights_words

    limits = []
    for one in found.limits:
        peaks = (one.peak.low, one.peak.middle, one.peak.high)
        limits.append(
            {
                "component": one.component, "side": one.side, "limit_pa_at_datum": one.limit_at_datum,
                "limit": say(one.limit_at_datum, "pressure", units),
                "share": one.passed.share, "low": one.passed.low, "high": one.passed.high,
                "peaks_pa_at_datum": peaks, "peaks": [say(peak, "pressure", units) for peak in peaks],
                "words": limit_words(one, units), "weights_words": weights_words(one, found.noise),
                "weights": [
                    {"tolerance": weight.name, "share": weight.share, "source": weight.words}
                    for weight in one.weights
                ],
            }
        )  # fmt: skip
    return {
        "words": runs_words(found), "limits": limits, "unjudged": list(found.unjudged),
        "findings": findings_of(found.findings, units),
    }  # fmt: skip
