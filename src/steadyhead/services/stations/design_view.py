"""The design sheet of a station as a page shows it: findings with all they rest on, figures, remedies."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pydantic import BaseModel, ConfigDict

from steadyhead.findings import CATALOGUE, Amount, Finding, Input, Severity
from steadyhead.records.design import DesignSheet, Patch, Remedy
from steadyhead.reports import design_tables as tables
from steadyhead.services.judging import Judged, explain
from steadyhead.services.page_words import field_words
from steadyhead.services.stations.judged import FindingView, finding_view
from steadyhead.services.stations.steps import Step, steps_text
from steadyhead.station.answers import SETTLED
from steadyhead.units import METRIC, UnitSet, say

NO_SOURCE = "source not noted"


class GroundView(BaseModel):
    """One value a finding rests on, with where it came from."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    label: str
    value: str
    provenance: str


class WhyView(BaseModel):
    """A finding with everything it rests on, and how a person may settle it.

    settles: *answer* a question, *accept* what is told, empty where only a cure helps; needs_authority: the
    answer names who decided and when; decides: words for what was decided on a shut-off.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    finding: FindingView
    rests_on: tuple[GroundView, ...]
    grounds: tuple[GroundView, ...]
    equation: str
    sources: tuple[str, ...]
    settles: str
    needs_authority: bool
    decides: tuple[str, ...]


class RemedyView(BaseModel):
    """What would open an empty window; `steps`: the change of the file, for trying it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    words: str
    caution: str
    window: str
    gain: str
    changes: tuple[str, ...]
    steps: str


class TableView(BaseModel):
    """A table of the design sheet in the reader's units."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


class DesignBody(BaseModel):
    """The design sheet of one file. counts: findings by severity."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    layout: str
    stacking: str
    releasable: bool
    counts: dict[str, int]
    findings: tuple[WhyView, ...]
    remedies: tuple[RemedyView, ...]
    tables: tuple[TableView, ...]
    proved: str
    needs_proof: bool


def design_body(judged: Judged, units: UnitSet = METRIC, *, needs_proof: bool = False) -> DesignBody:
    """Return the design sheet of a judged file.

    needs_proof: whether it has something to prove that is not proved yet.
    """
    sheet = judged.sheet
    return DesignBody(
        layout=sheet.layout,
        stacking=sheet.stacking,
        releasable=sheet.releasable,
        counts={one.value: sum(f.severity is one for f in sheet.findings) for one in Severity},
        findings=tuple(_whys(judged, units)),
        remedies=tuple(_remedy(one, units) for one in _remedies(sheet)),
        tables=tuple(one for one in _tables(sheet, units) if one.rows),
        proved=_proved(sheet),
        needs_proof=needs_proof,
    )


def _proved(sheet: DesignSheet) -> str:
    if not sheet.protection:
        return ""
    names = ", ".join(dict.fromkeys(one.shut_off for one in sheet.protection))
    return f"overshoot of {names} by the protection proof"


def _whys(judged: Judged, units: UnitSet) -> Iterable[WhyView]:
    """Yield the findings in the order of the sheet, each explained."""
    explained = {
        (one.finding.code, one.finding.subject, one.finding.case, one.finding.value_hash): one
        for code in dict.fromkeys(finding.code for finding in judged.sheet.findings)
        for one in explain(judged, code, units)
    }
    for finding in judged.sheet.findings:
        one = explained[finding.code, finding.subject, finding.case, finding.value_hash]
        entry = CATALOGUE[finding.code]
        yield WhyView(
            finding=finding_view(finding, units),
            rests_on=tuple(_ground(given, units) for given in finding.inputs if given.label != "answer"),
            grounds=tuple(_ground(given, units) for given in one.grounds),
            equation=one.equation,
            sources=one.sources,
            settles=settled_by(finding),
            needs_authority=entry.needs_authority,
            decides=("allowed", "forbidden", "required") if entry.stops_on else (),
        )


def settled_by(finding: Finding) -> str:
    """Return how a person may settle a finding: *answer*, *accept*, or empty where only a cure helps."""
    if finding.code in ("STN-01", "STN-02", "STN-13"):
        return ""
    if finding.severity is Severity.ASK:
        return "answer"
    entry = CATALOGUE[finding.code]
    if finding.severity in SETTLED or (finding.severity is Severity.STOP and entry.acceptable):
        return "accept"
    return ""


_GROUND_WORDS = {
    "p1": "p1, at the inlet",
    "p2": "p2, at the outlet",
    "supply.static": "highest static inlet pressure",
    "supply.min": "lowest inlet pressure",
    "water.highest": "highest water temperature",
}
"""Values of the file that findings rest on, in words."""


def _ground(given: Input, units: UnitSet) -> GroundView:
    amount, label = given.amount, _GROUND_WORDS.get(given.label) or field_words(given.label)
    value = say(amount.si, amount.kind, units) if isinstance(amount, Amount) else amount
    if isinstance(amount, Amount) and given.label.startswith("x_F"):
        label, value = given.label, f"{amount.si:.2f}"
    return GroundView(label=label, value=value, provenance=given.provenance or NO_SOURCE)


def _remedies(sheet: DesignSheet) -> Sequence[Remedy]:
    if not sheet.streams:
        return sheet.remedies
    return tuple(one for stream in sheet.streams for one in stream.remedies)


def _remedy(each: Remedy, units: UnitSet) -> RemedyView:
    told = tables.remedy(each, units)
    return RemedyView(
        words=told["words"],
        caution=told["caution"],
        window=told["window"],
        gain=told["gain"],
        changes=tuple(told["patches"]),
        steps=steps_text(steps_of(each.patches)),
    )


def steps_of(patches: Sequence[Patch]) -> tuple[Step, ...]:
    """Return changes of a station file as steps; entries are taken out after all values are set."""
    ordered = sorted(patches, key=lambda one: one.value is None)
    return tuple(
        Step.model_validate({"do": "remove", "at": one.path})
        if one.value is None
        else Step.model_validate({"do": "set", "at": one.path, "value": one.value})
        for one in ordered
    )


def _tables(sheet: DesignSheet, units: UnitSet) -> Iterable[TableView]:
    unit = units.heading("pressure")
    yield _table(f"Ladder, {unit} at datum", ("Rung", "Pressure", "Made of"), tables.rungs(sheet, units))
    yield _table(
        f"Trip window, {unit}", ("", "worst case", "root-sum-square"), tables.stackings(sheet, units)
    )
    yield _table(
        f"Failures looked at, {unit}",
        ("Failure", "Closing", "Overshoot", "Peak", "Covered", ""),
        tables.failures(sheet, units),
    )
    yield _table(
        f"Limits, {unit}: normal / fault",
        ("Component", "Side", "Level", "At its place", "At datum", ""),
        tables.limits(sheet, units),
    )
    for one in sheet.reducers:
        told = tables.reducer(one, units)
        yield _table(f"Reducer {one.reducer}", ("", ""), told["facts"])
        heads = (
            "Case",
            told["flow"],
            f"Needs {told['coefficient']}",
            "Open",
            told["velocity"],
            "σ₁",
            "σ₂",
            "",
        )
        yield _table(f"Reducer {one.reducer}, cases", heads, told["cases"])
        yield _table(f"Reducer {one.reducer} rests on", ("", "", ""), told["grounds"])
    yield _table(
        "Losses and velocities at peak", ("", "At peak", "At fire flow", "Usual limit", ""),
        tables.losses(sheet, units),
    )  # fmt: skip
    yield _table("Test gauges", ("Gauge", "Span", "Error", "Allowed", "", ""), tables.gauges(sheet, units))
    yield _table(
        "Values nobody stated", ("Where", "What", "Value", "Evidence"), tables.defaults(sheet, units)
    )


def _table(title: str, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> TableView:
    return TableView(title=title, heads=tuple(heads), rows=tuple(tuple(row) for row in rows))


def answer_steps(given: dict[str, str], existing: Sequence[object] = ()) -> tuple[Step, ...]:
    """Return the steps that write an answer into a file; one to the same finding and value is replaced."""
    value = {name: text for name, text in given.items() if text}
    same = [
        place
        for place, one in enumerate(existing)
        if isinstance(one, dict) and all(one.get(name) == given.get(name) for name in ("to", "at", "value"))
    ]
    gone = tuple(Step(do="remove", at=("answers", place)) for place in reversed(same))
    return (*gone, Step.model_validate({"do": "add", "at": ("answers",), "value": value}))
