"""Make the test plan of a station for one visit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Any

from steadyhead import __version__
from steadyhead.errors import InputError, InputErrors
from steadyhead.findings import Finding, Severity, tell
from steadyhead.records.baseline import Baseline
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Kind, Procedure
from steadyhead.records.protection import ProofSheet
from steadyhead.services.judging import finding_data, judge_file
from steadyhead.services.library import completed
from steadyhead.services.measured import with_measured
from steadyhead.station.canonical import sha256
from steadyhead.station.load import Loaded, load
from steadyhead.units import METRIC, UnitSet

VISITS: dict[str, Kind] = {
    "first": "first",
    "yearly": "yearly",
    "after-repair": "after_repair",
    "new-setting": "new_setting",
    "return-to-service": "return_to_service",
    "restart": "restart",
}


@dataclass(frozen=True, slots=True)
class MadePlan:
    """A plan with the station it belongs to, or the findings that forbid it.

    against: stops and open questions of the design; the plan carries them on its face.
    """

    loaded: Loaded
    source: bytes
    procedure: Procedure | None
    numbers: PlanNumbers | None
    findings: tuple[Finding, ...]
    against: tuple[Finding, ...] = ()

    @property
    def releasable(self) -> bool:
        """There is a plan, and nothing of the design stands against its release."""
        return self.procedure is not None and not self.against


def read_visit(words: str) -> tuple[Kind, str]:
    """Return kind of visit and item from the words of ``--for``.

    Raises
    ------
    InputError
        A visit that is not known, or a repair without its item.

    Examples
    --------
    >>> read_visit("after-repair=reducer pilot")
    ('after_repair', 'reducer pilot')
    """
    name, _, item = words.strip().partition("=")
    kind = VISITS.get(name.strip().lower().replace("_", "-"))
    if kind is None:
        raise InputError("--for", f"got {words!r}.", f"Use one of: {', '.join(VISITS)} (after-repair=ITEM).")
    if kind == "after_repair" and not item.strip():
        raise InputError(
            "--for",
            "got after-repair without what was repaired.",
            "Write after-repair=ITEM, e.g. --for 'after-repair=reducer pilot'; a wrong item lists them all.",
        )
    if kind in ("first", "yearly") and item.strip():
        raise InputError("--for", f"got {words!r}; this visit takes no item.", f"Write --for {name}.")
    return kind, item.strip()


class NoPlan(InputError):
    """No plan can be made; carries the findings that forbid it."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        self.findings = findings
        codes = ", ".join(dict.fromkeys(finding.code for finding in findings))
        super().__init__(
            "visit", f"cannot be planned: {codes}.", "Cure what is named in the station file first."
        )

    def told(self, units: UnitSet = METRIC) -> InputErrors:
        """Return each finding with its remedy, for whoever sees no page."""
        told = [tell(one, units) for one in self.findings]
        return InputErrors([InputError(one.subject, one.statement, one.cure) for one in told])


def make_plan(
    source: bytes,
    visit: str,
    where: str = "",
    day: date | None = None,
    proof: ProofSheet | None = None,
    baseline: Baseline | None = None,
) -> MadePlan:
    """Return the plan of a station file for a visit on a day (today where left out).

    `proof`: as for `plan_station`; `baseline`: what a run measured goes first, and the plan names it.

    Raises
    ------
    InputErrors
        Every bad field of the file.
    InputError
        A visit or item that is not known.
    """
    kind, item = read_visit(visit)
    loaded = with_measured(completed(load(source, where)), baseline)
    return plan_station(loaded, source, kind, item, day, proof)


def plan_station(
    loaded: Loaded,
    source: bytes,
    kind: Kind,
    item: str = "",
    day: date | None = None,
    proof: ProofSheet | None = None,
) -> MadePlan:
    """Return the plan of a loaded station; see `make_plan`.

    With its protection proof closing times must lie in the window of that too, and the design is judged with
    it.

    What stands against the release of the design stands first on the plan: the plan is written all the same,
    so that it can be prepared while the questions are settled.
    """
    from steadyhead.design.window_checks import asked
    from steadyhead.services.repairs import unknown_item
    from steadyhead.services.restarts import with_ends
    from steadyhead.visits.feasibility import Refused
    from steadyhead.visits.plan import build, figures, findings, not_released
    from steadyhead.visits.several.restarting import opened_alike
    from steadyhead.visits.windows import with_windows

    day = day or datetime.now(UTC).date()
    try:
        numbers = figures(loaded.station, kind, item)
        against = _against(source, day, proof, loaded.baseline)
        if proof is not None:
            numbers = with_windows(numbers, proof, questions=asked(against))
        if kind == "restart":
            numbers = with_ends(loaded.station, numbers, item)
        procedure = build(
            loaded.station,
            kind,
            item,
            numbers,
            station_hash=loaded.sha256,
            engine_version=__version__,
            day=day,
        )
    except Refused as refused:
        return MadePlan(loaded, source, None, None, refused.findings)
    except InputError as error:
        if error.field == "item" and kind == "after_repair":
            raise unknown_item(loaded.station, item) from None
        raise
    procedure = _named(procedure, loaded.baseline)
    if kind == "restart":
        numbers = opened_alike(numbers, loaded.station, item)
    told = findings(loaded.station, numbers, kind, item)
    return MadePlan(loaded, source, not_released(procedure, against), numbers, told, against)


def _named(procedure: Procedure, baseline: Baseline | None) -> Procedure:
    """Return a plan that names the baseline it was made with."""
    if baseline is None:
        return procedure
    mark = sha256(baseline.id.encode())[:6]
    return replace(procedure, id=f"{procedure.id}.{mark}", baseline_id=baseline.id)


def _against(
    source: bytes, day: date, proof: ProofSheet | None, baseline: Baseline | None
) -> tuple[Finding, ...]:
    sheet = judge_file(source, day=day, proof=proof, baseline=baseline).sheet
    return tuple(f for f in sheet.findings if f.severity in (Severity.STOP, Severity.ASK))


def plan_data(made: MadePlan) -> dict[str, Any]:
    """Return a plan as plain data, or the findings that forbid it."""
    from steadyhead.procedure.plain import plain
    from steadyhead.services.figures import numbers_data

    return {
        "format": "steadyhead/plan-result/1",
        "procedure": None if made.procedure is None else plain(made.procedure),
        "numbers": None if made.numbers is None else numbers_data(made.numbers),
        "findings": [finding_data(f) for f in made.findings],
        "design_releasable": made.releasable if made.procedure is not None else None,
        "against_release": [finding_data(f) for f in made.against],
    }


def plan_text(made: MadePlan, units: UnitSet = METRIC) -> str:
    """Return a plan as plain text for a terminal or a plain printer."""
    from steadyhead.visits.dials import dials
    from steadyhead.visits.text import render

    assert made.procedure is not None
    return render(made.procedure, units, numbers=made.numbers, dials=dials(made.loaded.station))
