"""A relief valve that closes through the narrow band below its play, beside a cavity: every step closes."""

from __future__ import annotations

import pytest

from steadyhead import surge
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.metrics import stored
from tests.campaigns.surge import MASS
from tests.surge.random_runs import random_run

pytestmark = pytest.mark.by_turns(4)


@pytest.mark.source(
    kind="analytic",
    ref="what a relief valve lets off rises with pressure, so there is one balance; the mass account of "
    "the campaign, of first order in the step: 5 % of what entered",
)
def test_a_relief_valve_near_its_reseat_is_balanced_beside_a_parted_column():
    asked = random_run(20261126, 2152)
    plant = surge.compile_plan(asked.plan)
    state = surge.start(plant, asked.schedule)
    before = stored(plant, state)
    surge.advance(plant, state, asked.schedule, int(asked.seconds / plant.step))
    reseat = next(
        part.relief.reseat for part in asked.plan.station if isinstance(part, surge.Section) and part.relief
    )
    end = float(state.node_state[plant.nodes["T3"]][at.NOW])
    assert end == pytest.approx(reseat, abs=0.05e5)
    assert surge.extremes(plant, state, "consumer").is_separated
    assert state.run[at.OPEN_NODES] == state.run[at.UNSETTLED] == state.run[at.BROKEN] == 0.0
    assert surge.mass_error(plant, state, before) < MASS
