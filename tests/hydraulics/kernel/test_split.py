"""Three and more branches side by side: against their sum, and against the same streams in nested twos."""

from __future__ import annotations

import random

import pytest

from steadyhead.hydraulics.kernel import assembly, layout, split
from steadyhead.hydraulics.kernel.assembly import Row, Solution
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.compiling import integers, table
from tests.hydraulics.kernel.lines import BAR, DENSITY, Station, conditions, isolating_valve


def loss(kv: float) -> Row:
    return assembly.loss(k_of_kv(kv, DENSITY))


def stream(rng: random.Random) -> list[Row]:
    row = Station(lockup=rng.uniform(4.2, 4.8)).reducer()
    return [loss(rng.uniform(60.0, 300.0)), Row(row.kind, row.columns, 1), loss(rng.uniform(60.0, 300.0))]


def solved(*rows: Row, consumers: float) -> Solution:
    line = [isolating_valve(1.0), *rows, isolating_valve(1.0)]
    return assembly.solve_line(assembly.pack(line), conditions(supply=9.0, consumers=consumers))


def shared(flow: float, resisting: list[float], outlet: float) -> tuple[list[float], int]:
    """Return the flows of branches that ask for outlet + (q/k)², and how many looks it took."""
    count = len(resisting)
    link = [0] * layout.LINK_WIDTH
    link[layout.BRANCHES] = count
    for turn in range(count):
        link[layout.SPANS + 2 * turn] = link[layout.SPANS + 2 * turn + 1] = turn + 2
    links, work = integers(link), table([[0.0] * layout.WORK_WIDTH] * (count + 2), layout.WORK_WIDTH)
    found, looks = [0.0] * count, 0
    split.open_split(work, 0)
    while work[0][layout.PHASE] < split.DONE:
        turn = int(work[0][layout.TURN])
        tried = float(split.asked_flow(work, links, 0, flow))
        found[turn], looks = tried, looks + 1
        split.take_answer(work, links, 0, flow, outlet + tried * abs(tried) / resisting[turn] ** 2)
    return found, looks


@pytest.mark.source(kind="analytic", ref="losses side by side: each carries its share of the sum of k")
@pytest.mark.parametrize("count", [3, 4, 5, 6])
@pytest.mark.parametrize("flow", [0.04, 1e-7, -0.02])
def test_each_branch_carries_its_share_and_looks_grow_with_the_branches_only(count: int, flow: float):
    rng = random.Random(f"{count} {flow}")
    resisting = [10.0 ** rng.uniform(-9.0, -4.0) for _ in range(count)]
    found, looks = shared(flow, resisting, 4e5)
    assert sum(found) == pytest.approx(flow, rel=1e-14)
    drop = (flow / sum(resisting)) ** 2
    for carried, k in zip(found, resisting, strict=True):
        assert carried == pytest.approx(flow * k / sum(resisting), rel=1e-9 + 1e-9 / drop)
    assert looks <= 12 * count


@pytest.mark.source(kind="analytic", ref="losses side by side: coefficients add")
@pytest.mark.parametrize("kvs", [(20.0, 50.0, 1e-3), (5.0, 5.0, 5.0, 400.0), (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)])
def test_losses_side_by_side_act_as_their_sum(kvs: tuple[float, ...]):
    beside = solved(assembly.parallel(*([loss(kv)] for kv in kvs)), consumers=30.0)
    one = solved(loss(sum(kvs)), consumers=30.0)
    assert beside.nodes[1] == pytest.approx(float(one.nodes[1]), rel=1e-9)


@pytest.mark.source(
    kind="analytic", ref="a branch beside a pair between the same joints is three side by side"
)
@pytest.mark.parametrize("number", range(12))
def test_three_streams_are_one_beside_a_pair(number: int):
    rng = random.Random(f"three {number}")
    first, second, third = stream(rng), stream(rng), stream(rng)
    if number % 3 == 0:
        third = [loss(10.0 ** rng.uniform(-3.0, 1.0))]
    consumers = rng.choice((0.05, 1.0, 20.0, 80.0))
    flat = solved(assembly.parallel(first, second, third), consumers=consumers)
    nested = solved(assembly.parallel(first, [assembly.parallel(second, third)]), consumers=consumers)
    assert flat.ending == nested.ending == layout.SOLVED
    for node in (0, 1, 2):
        assert flat.nodes[node] == pytest.approx(float(nested.nodes[node]), abs=1e-4 + 1e-9 * BAR)
    assert float(flat.flows[1]) == pytest.approx(float(nested.flows[1]), rel=1e-9)


@pytest.mark.source(kind="analytic", ref="an open way beside losses takes the whole flow")
def test_branch_that_resists_nothing_takes_the_whole_flow():
    beside = solved(assembly.parallel([], [loss(5.0)], [loss(50.0)]), consumers=30.0)
    one = solved(assembly.parallel([], [loss(5.0)]), consumers=30.0)
    for node in (0, 1, 2):
        assert beside.nodes[node] == pytest.approx(float(one.nodes[node]), rel=1e-9)
    assert float(beside.flows[1]) == pytest.approx(float(one.flows[1]), rel=1e-9)
