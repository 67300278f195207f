"""Plain and compiled engine give the same answers through every door; plain needs no compiler."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from steadyhead.hydraulics import build, solve
from steadyhead.hydraulics.reach import reach
from steadyhead.hydraulics.sequence import Step, read_sequence
from steadyhead.laws.compiling import mode
from steadyhead.services.judging import judge_file, sheet_data
from steadyhead.station.examples import names, read
from tests.hydraulics.stations import BAR, LAYOUTS, drawing, model, station
from tests.properties.comparing import differences

pytestmark = pytest.mark.by_turns(4)

ROOT = Path(__file__).parents[2]


def everything() -> dict[str, Any]:
    """Return what the twin says in many situations, as plain data."""
    told: dict[str, Any] = {}
    for layout in LAYOUTS:
        built = model(layout)
        told[layout] = {
            "steady": [
                _steady(solve(built, drawing(kv, openings={"TD": td})))
                for kv in (0, 0.3, 40)
                for td in (0, 0.4)
            ],
            "torn": _steady(solve(built, drawing(20.0, torn_kv={"RV": 0.5}))),
            "lockup": {key: value.si for key, value in built.lockup.items()},
            "band": {key: value.si for key, value in built.band.items()},
        }
    built = build(station("shut-off upstream"))
    told["reach"] = [
        [point.verdict, point.lift, point.outlet_pressure]
        for point in reach(built, "RV", [0.002, 0.02], [5.0 * BAR, 12.0 * BAR])
    ]
    steps = [
        Step(drawing(kv), {"SO": trip * BAR})
        for kv, trip in ((10.0, 6.0), (0.0, 4.2), (0.0, 6.0), (3.0, 6.0))
    ]
    told["sequence"] = [
        _steady(one.steady) | {"shut": sorted(one.tripped)} for one in read_sequence(built, steps)
    ]
    told["judged"] = {name: sheet_data(judge_file(read(name))) for name in names()}
    return told


def _steady(steady: Any) -> dict[str, Any]:
    return {"flow": float(steady.flow), "taps": {tap: float(p) for tap, p in steady.taps.items()}}


@pytest.mark.source(
    kind="analytic", ref="the same kernels, read by the interpreter instead of the compiler", note="1e-9"
)
def test_plain_and_compiled_engine_say_the_same_through_every_door() -> None:
    assert mode() == "compiled"
    script = (
        "import json, sys; from tests.properties.test_engines import everything; "
        "told = everything(); assert 'numba' not in sys.modules; print(json.dumps(told))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        env={
            **os.environ,
            "STEADYHEAD_ENGINE": "plain",
            "PYTHONPATH": os.pathsep.join([str(ROOT / "src"), str(ROOT)]),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    off = differences(everything(), json.loads(done.stdout), 1e-9)
    assert not off, "\n".join(off[:20])
