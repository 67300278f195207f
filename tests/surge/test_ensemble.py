from __future__ import annotations

import threading
from itertools import count
from typing import Any

import pytest

from steadyhead import surge
from steadyhead.services.cluster import Cluster
from steadyhead.surge.ensemble import Ensemble, Figures, Threads, run_ensemble, sections_of
from steadyhead.surge.events import studies
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.sampling import latin_hypercube
from steadyhead.surge.schedule import Held, Schedule, Straight
from steadyhead.surge.study import run_study
from steadyhead.surge.tolerances import Tolerance, plan_with, schedule_with, values_at
from tests.surge.files import text, way
from tests.surge.plans import kv, reducer, shut_off, station

pytestmark = pytest.mark.by_turns(4)

TOLERANCES = (
    Tolerance("trip", "SO", -0.2e5, 0.2e5, "as stated"),
    Tolerance("closing needle", "SO", 0.8, 1.25, "a year"),
    Tolerance("demand", "", 0.9, 1.1, "own estimate"),
    Tolerance("inlet pressure", "", -0.2e5, 0.2e5, "own estimate"),
    Tolerance("wave speed", "zone main", 0.95, 1.05, "own estimate"),
)


def ensemble(event: str = "pilot-stuck", tolerances=TOLERANCES, **changes) -> Ensemble:
    view, model = way(text(**changes))
    (study,), _ = studies(view, model, event)
    return Ensemble(study, tolerances)


@pytest.mark.source(kind="analytic", ref="in the middle of its bands a run is the event itself; 0.02 bar")
def test_with_every_tolerance_in_its_middle_a_run_is_the_event():
    middle = tuple(Tolerance(t.what, t.of, 1 / t.high, t.high, "") if t.low > 0 else t for t in TOLERANCES)
    made = ensemble(tolerances=middle)
    figures, run = made.run([0.5] * 5), run_study(made.study)
    assert figures is not None
    assert run is not None
    peaks = dict(zip(sections_of(made.study), figures.peaks, strict=True))
    assert peaks["supply"] == pytest.approx(run.supply.judged_at_datum, abs=0.02e5)
    assert peaks["consumer"] == pytest.approx(run.consumer.judged_at_datum, abs=0.02e5)
    assert figures.trip == pytest.approx(run.shut_offs[0].trip, abs=0.03)
    assert figures.shut == pytest.approx(run.shut_offs[0].shut, abs=0.03)


@pytest.mark.source(kind="analytic", ref="standing water hands a pressure on undiminished")
@pytest.mark.parametrize(("event", "place"), [("opening", "T0"), ("restart-open-sound", "T2")])
def test_water_found_standing_stands_at_the_pressure_that_was_drawn(event, place):
    made = ensemble(event, TOLERANCES[3:4])
    for share, rise in ((0.0, -0.2e5), (0.5, 0.0), (1.0, 0.2e5)):
        plant = surge.compile_plan(plan_with(made.study.drafted.plan, values_at(made.tolerances, [share])))
        _, state = made.study.begin(plant)
        node = plant.inlet_node if place == "T0" else plant.nodes[place]
        held = made.study.drafted.held + rise
        assert float(state.node_state[node][at.NOW]) == pytest.approx(held, abs=1.0)


def _peaks(made: Any, share: float) -> tuple[float, ...]:
    peaks: tuple[float, ...] = made.run([share]).peaks
    return peaks


@pytest.mark.source(kind="analytic", ref="a reducer found shut and sound holds its lock-up pressure")
def test_a_reducer_found_shut_has_locked_up_at_the_setting_that_was_drawn():
    setting = Tolerance("setting", "RV", -0.1e5, 0.1e5, "a gauge")
    made = ensemble("restart-shut-sound", (setting,))
    reducer: Any = next(part for part in made.study.drafted.plan.station if part.id == "RV")
    for share, rise in ((0.0, -0.1e5), (1.0, 0.1e5)):
        plant = surge.compile_plan(plan_with(made.study.drafted.plan, values_at((setting,), [share])))
        _, state = made.study.begin(plant)
        now = float(state.node_state[plant.nodes["T2"]][at.NOW])
        assert now == pytest.approx(reducer.closing + rise, abs=1.0)
    highest = [_peaks(made, share) for share in (0.0, 1.0)]
    assert highest[0] != highest[1]


@pytest.mark.source(kind="analytic", ref="more pressure ahead of a valve that is opened gives a higher peak")
def test_openings_with_more_inlet_pressure_go_higher():
    made = ensemble("opening", TOLERANCES[3:4])
    low, middle, high = (_peaks(made, share)[0] for share in (0.0, 0.5, 1.0))
    assert low < middle < high
    assert high - low > 0.3e5


def test_threads_and_one_run_after_the_other_give_the_same_figures():
    made = ensemble()
    shares = latin_hypercube(6, 5, 1).tolist()
    found = run_ensemble(made, shares, executor=Threads(3))
    assert found == {place: made.run(line) for place, line in enumerate(shares)}
    assert len({figures.peaks for figures in found.values() if figures is not None}) == 6


def test_work_goes_on_from_what_is_finished_and_can_be_stopped():
    made = ensemble()
    shares = latin_hypercube(6, 5, 1).tolist()
    told = []
    part = run_ensemble(
        made, shares, progress=lambda done, total, what: told.append((done, total, what)),
        cancel=lambda: len(told) > 3,
    )  # fmt: skip
    assert sorted(part) == [0, 1, 2]
    assert told[-1] == (3, 6, "runs")
    kept: dict[int, Figures | None] = {}
    whole = run_ensemble(made, shares, finished=part, keep=kept.__setitem__)
    assert sorted(kept) == [3, 4, 5]
    assert whole == run_ensemble(made, shares)


def test_a_station_that_cannot_begin_is_left_out_and_counted():
    starved = Tolerance("inlet pressure", "", -10.4e5, -10.3e5, "a burst ahead of it")
    assert ensemble(tolerances=(starved,), night=55.0).run([0.5]) is None


def test_only_a_few_items_wait_however_many_there_are():
    taken = count()
    done = []
    lock = threading.Lock()

    def items():
        for _ in range(200):
            yield next(taken)

    def work(item: int) -> int:
        with lock:
            done.append(item)
        return item

    results = Threads(2).map(work, items())
    assert [next(results) for _ in range(3)] == [0, 1, 2]
    assert next(taken) <= 3 + Threads.WAITING * 2 + 1


def test_each_tolerance_moves_what_it_is_of():
    plan = station(
        reducer(closing=4.5e5, screw=float("nan")), surge.Section("T2", 0.008), shut_off(), elasticity=1e-7
    )
    values = {
        ("trip", "SO"): 0.1e5, ("closing needle", "SO"): 2.0, ("setting", "RV"): 0.2e5, ("valve", "RV"): 0.9,
        ("feed", "RV"): 0.5, ("demand", ""): 1.1, ("inlet pressure", ""): 0.3e5,
        ("wave speed", "zone main"): 0.9, ("zone elasticity", ""): 1.5,
    }  # fmt: skip
    moved = plan_with(plan, values)
    parts: dict[str, Any] = {part.id: part for part in moved.station}
    before: dict[str, Any] = {part.id: part for part in plan.station}
    assert parts["SO"].trip == pytest.approx(before["SO"].trip + 0.1e5)
    assert parts["SO"].close_needle == pytest.approx(2.0 * before["SO"].close_needle)
    assert parts["SO"].close_time == pytest.approx(0.5 * before["SO"].close_time)
    assert parts["RV"].closing == pytest.approx(4.7e5)
    assert parts["RV"].body.coefficient == pytest.approx(0.9 * kv(170))
    assert (parts["RV"].feed, parts["RV"].pilot) == pytest.approx((kv(0.03), kv(0.06)))
    ends: dict[str, Any] = {joint.id: joint for joint in moved.joints}
    assert ends["zone"].coefficient == pytest.approx(1.1 * kv(30))
    assert ends["zone"].elasticity == pytest.approx(1.5e-7)
    assert ends["supply"].pressure == pytest.approx(9.3e5)
    assert [pipe.wave_speed for pipe in moved.pipes] == pytest.approx([1150.0, 0.9 * 1150.0])


def test_inputs_move_with_demand_and_inlet_pressure():
    before = Schedule(
        (
            Straight("zone", "demand", ((0.0, 1.0), (1.0, 2.0))),
            Straight("supply", "supply pressure", ((0.0, 9e5),)),
            Held("RV", "tear", ((0.0, 0.5),)),
        )
    )
    after = schedule_with(before, {("demand", ""): 2.0, ("inlet pressure", ""): 1e5})
    assert [one.points for one in after.inputs] == [((0.0, 2.0), (1.0, 4.0)), ((0.0, 10e5),), ((0.0, 0.5),)]


def test_offsets_are_even_and_factors_even_in_their_logarithm():
    values = values_at(TOLERANCES, [0.75, 0.5, 0.0, 1.0, 0.5])
    assert values["trip", "SO"] == pytest.approx(0.1e5)
    assert values["closing needle", "SO"] == pytest.approx(1.0)
    assert values["demand", ""] == pytest.approx(0.9)
    assert TOLERANCES[0].name == "trip of SO"


def test_a_cluster_of_two_workers_gives_the_same_figures_bit_by_bit():
    cluster = Cluster("local", workers=2)
    made, primed = ensemble(), ensemble("opening")
    try:
        shares = latin_hypercube(20, 5, 1).tolist()
        assert run_ensemble(made, shares, executor=cluster) == run_ensemble(made, shares)
        few = shares[:4]
        assert run_ensemble(primed, few, executor=cluster) == run_ensemble(primed, few)
    finally:
        cluster.close()
