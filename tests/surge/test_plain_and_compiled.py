from __future__ import annotations

import json
import os
import subprocess
import sys
from math import isnan
from typing import Any

import pytest

from devtools.places import ROOT
from tests.surge.plain_kinds import ends, kinds

pytestmark = pytest.mark.by_turns(4)

CLOSE = 1e-9


@pytest.fixture(scope="module")
def both() -> dict[str, tuple[dict[str, Any], dict[str, Any]]]:
    """Return the state each kind of run ends in, plain and compiled."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.surge.plain_kinds"],
        cwd=ROOT,
        env={**os.environ, "STEADYHEAD_ENGINE": "plain", "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"},
        capture_output=True,
        text=True,
        check=True,
    )
    plain = [json.loads(line) for line in done.stdout.splitlines()]
    compiled = [json.loads(text) for text in ends().values()]
    return dict(zip(kinds(), zip(plain, compiled, strict=True), strict=True))


def flat(value: Any) -> list[float]:
    return [one for inner in value for one in flat(inner)] if isinstance(value, list) else [float(value)]


def alike(table: str, value: Any) -> list[list[float]]:
    """Return the numbers of a table in groups of one quantity: planes of the nodes, columns of the others."""
    if table == "nodes":
        return [flat(plane) for plane in value]
    return [flat(list(column)) for column in zip(*value, strict=True)]


@pytest.mark.source(
    kind="analytic",
    ref="the same text run compiled and plain; compiled sums may be rounded in another order: 1e-9 of the "
    "largest of each quantity",
)
@pytest.mark.parametrize("name", kinds())
def test_every_kind_of_run_gives_the_same_numbers_compiled_and_plain(name, both):
    plain, compiled = both[name]
    assert plain.keys() == compiled.keys()
    for table in plain.keys() - {"format", "run"}:
        for ours, theirs in zip(alike(table, plain[table]), alike(table, compiled[table]), strict=True):
            scale = max((abs(x) for x in ours if not isnan(x)), default=0.0)
            assert theirs == pytest.approx(ours, rel=CLOSE, abs=CLOSE * scale, nan_ok=True), table
