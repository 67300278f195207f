"""No row of a plan changes unseen: a digest of everything that a few plans judge by.

Pinned as it stands. Where it differs and is meant to, `python -m tests.visits.few_plans` writes it anew, with
the tables that show what differs.
"""

from __future__ import annotations

import pytest

from steadyhead.records.procedure import Kind
from tests.visits.few_plans import FEW, PINNED, digest, plan, read


@pytest.mark.source(kind="pinned", ref="our own plans of 26 November 2026")
@pytest.mark.parametrize(("name", "kind"), FEW, ids=[f"{name} {kind}" for name, kind in FEW])
def test_everything_a_plan_judges_by_is_as_it_was(name: str, kind: Kind) -> None:
    assert read(PINNED)[f"{name} {kind}"] == [digest(plan(name, kind))]
