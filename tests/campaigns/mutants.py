"""Mutants: small wrong changes of the judge, the ladder and the plans' rows, and whether a test notices.

`n` mutants of each module and of each field of the plans are drawn with the seed. Those that nobody noticed
are listed with the reason why they live (`docs/mutants.md`); the campaign holds where each has one.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from devtools.mutants import in_plans, in_python, page
from devtools.mutants.model import Mutant, Outcome, shares, survivors
from devtools.mutants.trying import try_all
from devtools.places import ROOT

FULL = 15
"""Of each module and each field; own estimate: half an hour on one core."""
ALL = 1_000_000
written = page.write
PROCEDURE = ROOT / "src" / "steadyhead" / "procedure"
LADDER = tuple(
    ROOT / "src" / "steadyhead" / "design" / f"{name}.py" for name in ("ladder", "rungs", "ladder_checks")
)
DECIDES = ("judging", "touching", "steps", "expression", "graph", "ladder")
"""Modules of which twice as many are tried: they say what counts."""
Part = tuple[list[Outcome], int]
"""What came of mutants, and how many were drawn."""
STEPS_TESTS = (
    "tests/procedure/test_graph.py",
    "tests/procedure/test_expression.py",
    "tests/procedure/test_flaws.py",
    "tests/procedure/test_plain.py",
    "tests/procedure/test_ledger.py",
    "tests/procedure/test_judging.py",
    "tests/procedure/test_judge_edges.py",
    "tests/procedure/test_beside_the_plan.py",
    "tests/procedure/test_put_out_and_back.py",
    "tests/procedure/test_minded_vectors.py",
    "tests/procedure/test_acts_places_clocks.py",
    "tests/procedure/test_in_js.py",
    "tests/services/test_running.py",
    "tests/services/test_entering.py",
    "tests/services/test_entering_beside_the_plan.py",
    "tests/visits/test_refusals.py",
    "tests/visits/test_recording.py",
    "tests/procedure/test_slips_into_final.py",
    "tests/procedure/test_counted_turns.py",
    "tests/visits/audit/test_reliefs_and_limits_in_words.py",
    "tests/procedure/test_trials_read_again.py",
    "tests/procedure/test_before_its_time.py",
    "tests/procedure/test_judge_corners.py",
    "tests/procedure/test_causes.py",
    "tests/procedure/test_clocks_and_drains.py",
    "tests/procedure/test_minded_beside_a_raise.py",
    "tests/procedure/test_outlet_past_a_test.py",
    "tests/procedure/test_proved_by_nothing.py",
    "tests/procedure/test_standing_all_through.py",
    "tests/procedure/test_trials_of_one_event.py",
    "tests/procedure/test_order_of_devices.py",
    "tests/procedure/test_compared_and_told.py",
    "tests/procedure/test_unsure_and_untried.py",
    "tests/procedure/test_which_run.py",
    "tests/procedure/test_outlet_in_service.py",
    "tests/procedure/test_outlet_valve_while_raised.py",
    "tests/visits/test_restart_another_way.py",
    "tests/procedure/test_proved_by_what_ran.py",
    "tests/procedure/test_small_wrong_changes.py",
    "tests/procedure/test_more_small_changes.py",
    "tests/procedure/test_words_in_js.py",
    "tests/visits/test_advice_misled.py",
)
ADVICE_TESTS = (
    "tests/procedure/test_advice.py",
    "tests/procedure/test_advice_corners.py",
    "tests/visits/test_advice_history.py",
    "tests/visits/test_advice_misled.py",
)
ROWS_TESTS = (
    *STEPS_TESTS[7:10],
    *STEPS_TESTS[12:],
    "tests/visits/test_what_rests_on_what.py",
    "tests/visits/test_rows_by_kind.py",
    "tests/visits/test_streams_like_one.py",
    "tests/visits/test_leaving.py",
    "tests/visits/test_openings.py",
    "tests/visits/test_figures_refused.py",
    "tests/visits/test_as_found_and_isolated.py",
    "tests/visits/test_streams_mended.py",
    "tests/visits/test_streams_together.py",
    "tests/visits/test_restart.py",
)
"""Not `tests/visits/test_rows_pinned.py`: its digests of whole plans notice any change, whatever it means."""
LONG = (
    "final_on_any_way",
    "same_in_js",
    "clean_visit_of_every_example",
    "plan_lists_each_valve",
    "every_repair_gets_a_plan",
    "writers_at_one_time",
    "nothing_is_reset_before_every_tap",
    "tells_the_cause",
    "weighed_alike",
    "proves_nothing_once_the_outlet",
    "no_case_for_a_test",
    "written_with_the_twin",
    "stands_at_the_least_opening",
    "reducer_is_not_as_found",
)
"""Tests left out from the start, by words of their names: known to take long, so that none would be asked."""
LADDER_TESTS = (
    "tests/design/test_ladder.py",
    "tests/design/test_window_findings.py",
    "tests/design/test_crack.py",
    "tests/design/test_limit_checks.py",
    "tests/design/test_limits.py",
    "tests/design/test_overshoot.py",
    "tests/design/test_worked_station.py",
    "tests/design/test_relief_and_heat.py",
    "tests/design/test_handbook_stations.py",
    "tests/design/test_codes.py",
)


def run(seed: int, n: int = FULL) -> dict[str, Any]:
    """Try n mutants of each module and field; return kills by group and all that live."""
    in_python.operators()
    parts = [part(seed, n) for part in PARTS.values()]
    return told([one for outcomes, _ in parts for one in outcomes], sum(drawn for _, drawn in parts))


def told(outcomes: list[Outcome], drawn: int) -> dict[str, Any]:
    """Return the figures of a run."""
    living = survivors(outcomes, page.reasons())
    lived = sum(one.lives for one in outcomes)
    return {
        "held": all(row["why"] for row in living),
        "drawn": drawn,
        "tried": len(outcomes),
        "killed": len(outcomes) - lived,
        "timed out": sum(one.fate == "timed out" for one in outcomes),
        "lived": lived,
        "killed share": round((len(outcomes) - lived) / max(1, len(outcomes)), 4),
        "by group": shares(outcomes),
        "survivors": living,
    }


def _size(path: Path, n: int) -> int:
    return 2 * n if path.stem in DECIDES else n


def _of(paths: Iterable[Path], n: int, seed: int) -> list[Mutant]:
    return [one for path in paths for one in in_python.sample(path, _size(path, n), seed)]


def of_judging(seed: int, n: int) -> Part:
    """Try mutants of the modules that judge."""
    paths = [path for path in _procedure() if not path.stem.startswith("advice")]
    return try_all(STEPS_TESTS, LONG, paths, lambda _: _of(paths, n, seed))


def of_advice(seed: int, n: int) -> Part:
    """Try mutants of the modules that advise the next turn."""
    paths = [path for path in _procedure() if path.stem.startswith("advice")]
    return try_all(ADVICE_TESTS, LONG, paths, lambda _: _of(paths, n, seed))


def _procedure() -> list[Path]:
    return sorted(path for path in PROCEDURE.glob("*.py") if path.stem != "__init__")


def of_rows(seed: int, n: int) -> Part:
    """Try mutants of what plans judge by."""
    return try_all(ROWS_TESTS, LONG, (), lambda seen: in_plans.sample(seen.plans.values(), n, seed))


def of_ladder(seed: int, n: int) -> Part:
    """Try mutants of the ladder."""
    return try_all(LADDER_TESTS, (), LADDER, lambda _: _of(LADDER, n, seed))


PARTS = {"judging": of_judging, "advice": of_advice, "rows": of_rows, "ladder": of_ladder}
