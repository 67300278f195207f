"""Both ends of the band of mains a zone is entered through: whichever drives a pressure higher decides."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steadyhead.cli.proof_text import proof_text
from steadyhead.design.basis import Basis
from steadyhead.design.protection import prove_station, questions
from steadyhead.design.twin import SteadyTwin
from steadyhead.records.protection import ProofSheet, SidePeak
from steadyhead.services.judging import judge_file
from steadyhead.services.protection import is_proved
from steadyhead.services.studies.surge_words import run_words
from steadyhead.services.surge import run_surge
from steadyhead.services.tolerances import tolerances_of
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.surge.entry import ends, mains_of, with_entry
from steadyhead.surge.proof import Claim, prove, proving, with_other_end
from steadyhead.surge.proof_run import FailureRun, situation
from steadyhead.surge.tolerances import COUNTS, plan_with, values_at
from steadyhead.units import METRIC
from tests.there import there

SHIPPED = examples.read("quillenby-row").decode()
QUICK = {
    "bore: 252 mm, wall: 6.8 mm": "bore: 303 mm, wall: 7.2 mm",
    "peak: 18 L/s": "peak: 12 L/s",
    "bore: 203 mm, wall: 10.8 mm": "bore: 150 mm, wall: 8.6 mm",
    "fault: 9 bar, normal: 9 bar": "fault: 9.75 bar, normal: 9 bar",
    "reducer drifts open, within: 2 min": "reducer drifts open, within: 20 s",
}
"""Wide supply main, narrow consumer main, a drift of 20 s: held with three mains alone, passed with one."""


def changed(**parts: str) -> bytes:
    text = SHIPPED
    for old, new in (QUICK | parts).items():
        assert old in text, old
        text = text.replace(old, new)
    return text.encode()


@pytest.fixture(scope="module")
def quick():
    return there(prove_station(load(changed()).station)).ways[0]


def consumers(case) -> SidePeak:
    found: SidePeak = there(case.peak("consumer"))
    return found


def in_words(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.source(
    kind="analytic",
    ref="R = Z/n at the end of a main passes on 2/(1 + n) of a rise: one main the whole, three half of it",
)
def test_a_quick_rise_stands_higher_before_one_main_and_is_not_called_held(quick):
    worst = max((c for c in quick.cases if c.failure.credited), key=lambda case: consumers(case).peak)
    assert worst.mains == 1
    assert consumers(worst).verdict == "over"
    other = next(c for c in quick.cases if c.place == worst.place and c.mains == 3)
    assert consumers(other).verdict == "inside"
    assert consumers(worst).peak > consumers(other).peak + 0.15e5


def test_each_case_is_run_at_both_ends_and_names_its_own(quick):
    by_place: dict[object, set[int]] = {}
    for case in quick.cases:
        by_place.setdefault(case.place, set()).add(case.mains)
        assert f"the zone entered through {case.mains} main" in case.words
    assert set(map(frozenset, by_place.values())) == {frozenset({1, 3})}
    assert quick.mains_behind == (1, 3)


def test_the_window_ends_where_one_main_passes_the_limit_and_says_so(quick):
    edge = there(quick.window.slowest)
    assert edge.mains == 1
    assert edge.words.endswith("the zone entered through 1 main")
    here = next(s for s in proving(question()).situations if place_of(s) == place_of(edge))
    made = proving(question())
    run = FailureRun(here, edge.failure, made.setting)
    limit = there(consumers(quick.cases[0]).limit)
    for share, holds in ((1.0, True), (1.02, False)):
        speed = made.stopwatch / (edge.stopwatch * share)
        peak = next(
            p for p in run.peaks(run.finish(made.setting.faster(speed)), made.question.limits)
            if p.side == "consumer"
        )  # fmt: skip
        assert (peak.peak <= limit) is holds


def question():
    return next(questions(load(changed()).station))


def place_of(one):
    return one.inlet, one.flow, one.mains


def test_the_proof_in_words_forbids_it_and_names_the_end(quick):
    judged = judge_file(changed(), proof=ProofSheet((quick,)))
    assert not is_proved(judged.sheet.findings)
    said = in_words(proof_text(judged, METRIC))
    assert "slow closing, the zone entered through 1 main" in said
    assert "of the zone entered through 1 main and through 3 like its own" in said
    assert "highest static inlet pressure, night flow, the zone entered through 1 main." in said


@pytest.mark.source(kind="independent", ref="the same plan run with one end alone, outside the proof")
@settings(max_examples=12, deadline=None, derandomize=True)
@given(
    within=st.floats(2.0, 60.0),
    length=st.integers(200, 2500),
    bore=st.sampled_from(["100 mm, wall: 6.6", "150 mm, wall: 8.6", "203 mm, wall: 10.8"]),
    volume=st.integers(60, 400),
    needle=st.floats(1.0, 8.0),
)
def test_no_end_of_the_band_goes_higher_than_the_proof_says(within, length, bore, volume, needle):
    source = changed(
        **{
            "reducer drifts open, within: 2 min": f"reducer drifts open, within: {within:.1f} s",
            "bore: 203 mm, wall: 10.8 mm": f"bore: {bore} mm",
            "length: 850 m": f"length: {length} m",
            "volume: 190 m³": f"volume: {volume + 60} m³",
            "time: 4 s,": f"time: {needle:.1f} s,",
        }
    )
    asked = next(questions(load(source).station))
    claims = tuple(Claim(one.failure, ("night",)) for one in asked.claims if one.failure.credited)
    asked = replace(asked, claims=claims, limits=())
    proof, made = there(prove(asked)), proving(asked)
    for here in (one for one in made.situations if one.mains == 3):
        for mains in (1.0, 3.0):
            drafted = replace(here.drafted, plan=with_entry(here.drafted.plan, mains))
            alone = situation(drafted, here.inlet, here.flow, here.shut_off)
            run = FailureRun(alone, claims[0].failure, made.setting)
            end = run.finish(made.setting.faster(1.0 / (1.0 + made.band)))
            for peak in run.peaks(end, ()):
                told = [there(one.peak(peak.side)) for one in proof.cases if one.inlet == here.inlet]
                assert max(one.peak for one in told) >= peak.peak - 1.0
                assert max(one.highest for one in told) >= peak.highest - 1.0


def test_a_wave_thrown_back_at_one_end_alone_carries_what_the_other_shows(quick):
    case = next(c for c in quick.cases if c.mains == 3)
    other = next(c for c in quick.cases if c.place == case.place and c.mains == 1)

    def with_rebound(one, rebound):
        peaks = (
            replace(p, peak=6e5, rebound=rebound, verdict="inside") if p.side == "consumer" else p
            for p in one.peaks
        )
        return replace(one, peaks=tuple(peaks))

    told = with_other_end((with_rebound(case, 7.5e5), with_rebound(other, 6.5e5)))
    assert [consumers(one).rebound_least for one in told] == [6.5e5, None]
    (alone,) = with_other_end((with_rebound(case, 7.5e5),))
    assert consumers(alone).rebound_least is None


def test_a_reducer_that_goes_on_regulating_is_quiet_at_both_ends():
    asked = next(questions(load(examples.read("mesquill-flat")).station))
    made = proving(asked)
    assert {one.mains for one in made.situations} == {1, 3}
    assert len(made.situations) == 2 * len({(one.inlet, one.flow) for one in made.situations})
    assert all(mains_of(one.drafted.plan) == one.mains for one in made.situations)


def test_surge_tells_the_worse_end_and_holds_limits_against_both():
    answer = run_surge(changed(), event="fails-open", within="20 s")
    (run,) = answer.runs
    assert run.mains_behind == (1, 3)
    assert run.mains == 1
    spur = next(one for one in run.limits if one.component.startswith("cast-iron"))
    assert spur.peak_at_datum == pytest.approx(run.consumer.judged_at_datum, rel=0.02)
    assert "told is the worse, through 1" in run_words(run, METRIC)


def test_chances_draw_the_mains_behind_the_zone_as_whole_numbers():
    view = next(questions(load(changed()).station)).view
    drafted = next(one for one in proving(question()).situations if one.mains == 3).drafted
    found = tolerances_of(Basis(view.station, SteadyTwin(view.station)), drafted)
    mains = next(one for one in found if one.what in COUNTS)
    assert [mains.at(share) for share in (0.0, 0.34, 0.5, 0.67, 1.0)] == [1.0, 2.0, 2.0, 3.0, 3.0]
    plans = [plan_with(drafted.plan, values_at([mains], [share])) for share in (0.0, 0.5, 1.0)]
    assert [mains_of(plan) for plan in plans] == [1, 2, 3]
    fewest = replace(drafted, plan=with_entry(drafted.plan, 1.0))
    kept = tolerances_of(Basis(view.station, SteadyTwin(view.station)), fewest)
    assert not [one for one in kept if one.what in COUNTS]


def test_a_zone_without_a_stated_main_or_without_a_rest_has_no_band():
    made = proving(question())
    assert ends(made.situations[0].drafted.plan) == (3, 1)
    bare = SHIPPED.replace(next(line for line in SHIPPED.splitlines() if "length: 850 m" in line) + "\n", "")
    stub = proving(next(questions(load(bare.encode()).station)))
    assert {one.mains for one in stub.situations} == {0}
