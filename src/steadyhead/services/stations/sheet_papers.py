"""The papers of a revision: design sheet and test plan as PDF, judged with the proof that is at hand."""

from __future__ import annotations

from datetime import date
from typing import Literal

from steadyhead.records.procedure import Kind
from steadyhead.services.papers import design_paper, plan_paper
from steadyhead.services.planning import NoPlan, plan_station
from steadyhead.services.stations.judged import judge_at
from steadyhead.services.stations.kept import Head
from steadyhead.services.stations.proofs import at_hand
from steadyhead.units import METRIC, UnitSet
from steadyhead.visits.several.ways import has_several

Paper = Literal["pdf", "plan"]
FILE_NAMES: dict[Paper, str] = {"pdf": "design-sheet", "plan": "test-plan"}


def paper_of(head: Head, paper: Paper, day: date, units: UnitSet = METRIC, release: str = "") -> bytes:
    """Return a paper of a revision.

    release: what the file is released as, e.g. ``r3``; empty where it is not.

    Raises
    ------
    NoPlan
        What stands against a plan.
    """
    judged = judge_at(head.source, day)
    if paper == "pdf":
        return design_paper(judged, units, day, release)
    known = at_hand(head.file_hash)
    proof = known.sheet if known is not None and judged.sheet.protection else None
    kind: Kind = "yearly" if has_several(judged.loaded.station) else "first"
    made = plan_station(judged.loaded, judged.source, kind, day=day, proof=proof)
    if made.procedure is None:
        raise NoPlan(made.findings)
    return plan_paper(made, units, day, release)
