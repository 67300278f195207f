"""The outlet of a stiff sound reducer hardly moves, always or since it was mended: no sensor is cut off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.defects.judging import judge
from tests.logger.handing import channels, context
from tests.logger.measuring import Trace, measured, round_to
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Array, Water, place, wander, water

MENDED = ("droop", "leak", "swing")


def stiff(number: int, mended: str = "", days: float = 0.0) -> tuple[np.random.Generator, Water, Array]:
    """Return a station whose outlet falls by 0.01 to 0.1 bar over its flows, and what its gauge shows. [Pa]

    mended: what moved the outlet by 0.1 to 0.4 bar until a visit; "": nothing did.
    """
    rng = np.random.default_rng([number, 90])
    step = float(rng.choice([300.0, 600.0, 900.0]))
    days = days or float(rng.uniform(7.0, 60.0))
    of = replace(place(rng), droop=0.0, hysteresis=0.0, supply_effect=float(rng.choice([0.0, 0.002, 0.005])))
    now = water(rng, of, MONDAY, days, step)
    if number % 3 == 0:
        now.flow *= np.where((now.t % DAY) < 5.0 * HOUR, 0.15, 1.0)
    share = now.flow / now.flow.max()
    now.outlet = of.lockup + of.supply_effect * (now.inlet - of.supply)
    now.outlet -= 10.0 ** rng.uniform(-2.0, -1.0) * BAR * share ** rng.choice([0.5, 1.0, 2.0])
    size = rng.uniform(0.1, 0.4) * BAR * (now.t < now.t[0] + rng.uniform(0.3, 0.75) * np.ptp(now.t))
    if mended == "droop":
        now.outlet -= size * np.sqrt(share)
    elif mended == "leak":
        now.outlet += size * (now.flow < np.quantile(now.flow, 0.3))
    elif mended == "swing":
        now.outlet += 0.3 * size * wander(rng, now.t.size, step, HOUR)
    grain = float(rng.choice([10.0, 100.0, 200.0, 500.0, 1000.0]))
    noise = 10.0 ** rng.uniform(-3.0, -2.0) * BAR
    return rng, now, round_to(now.outlet + noise * rng.standard_normal(now.t.size), grain)


def told(rng: np.random.Generator, now: Water, outlet: Array) -> tuple[Episode, ...]:
    seen = measured(rng, now)
    for name in [name for name in seen.traces if name.startswith("out")]:
        del seen.traces[name]
    seen.traces["out"] = Trace("outlet pressure", "spot", now.t.copy(), outlet, 0.0)
    return judge(channels(seen), context(seen)).episodes


@pytest.mark.parametrize("mended", ["", *MENDED])
def test_an_outlet_that_hardly_moves_is_no_defect(mended):
    found = {number: [str(e.code) for e in told(*stiff(number, mended))] for number in range(12)}
    assert {number: codes for number, codes in found.items() if codes} == {}


def test_a_cock_shut_is_found_before_and_after_a_mend():
    missed = []
    for number in range(8):
        rng, now, outlet = stiff(number, "droop", days=40.0)
        at = (now.t >= now.t[0] + 8.0 * DAY) & (now.t < now.t[0] + 9.5 * DAY)
        held = outlet[at][0] - 50.0 * (now.t[at] - now.t[at][0]) / HOUR
        outlet[at] = round_to(held + 20.0 * rng.standard_normal(int(at.sum())), 10.0)
        start = float(now.t[at][0])
        shut = [e.start.timestamp() for e in told(rng, now, outlet) if e.code is Code.COCK_SHUT]
        if [s for s in shut if abs(s - start) > 3.0 * HOUR] or not shut:
            missed.append((number, shut))
    assert len(missed) <= 2, missed
