"""House rules for every test: sources of numbers, printed seeds, loud skips."""

from __future__ import annotations

import os
import random
import shutil
import zlib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from devtools.verification import Evidence, SourceMarkError, read_mark, table

REQUIRE_ALL = os.environ.get("REQUIRE_ALL") == "1"
PROFILE = os.environ.get("HYPOTHESIS_PROFILE", "dev")
# One seed for the whole run: chosen by the first process, inherited by those it starts, printed.
SEED = os.environ.setdefault("STEADYHEAD_SEED", str(random.SystemRandom().randrange(10**9)))
# One engine for the whole run; the first command would otherwise choose the plain one.
os.environ.setdefault("STEADYHEAD_ENGINE", "compiled")
# Whoever runs the tests may read other units; what is printed here is metric unless a test asks otherwise.
os.environ["STEADYHEAD_UNITS"] = "metric"
# Commands are tested with lumped figures; the protection proof has its own tests.
os.environ.setdefault("STEADYHEAD_PROOF", "no")
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")

_COMMON = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True)
settings.register_profile("dev", parent=_COMMON, max_examples=50)
settings.register_profile("ci", parent=_COMMON, max_examples=100)
settings.register_profile("full", parent=_COMMON, max_examples=2000)
settings.load_profile(PROFILE)

EVIDENCE: pytest.StashKey[list[Evidence]] = pytest.StashKey()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--verification-table", type=Path, help="write the table of all sources of numbers, as Markdown"
    )


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config: pytest.Config) -> None:
    """Give the property tests the run's seed where a failure elsewhere must be repeatable here."""
    if PROFILE == "ci" and config.getoption("hypothesis_seed") is None:
        config.option.hypothesis_seed = SEED


def pytest_report_header(config: pytest.Config) -> str:
    return f"property tests: profile {PROFILE}; repeat this run with STEADYHEAD_SEED={SEED}"


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    found: list[Evidence] = []
    problems: list[str] = []
    for item in items:
        for mark in item.iter_markers("source"):
            try:
                found.append(read_mark(item.nodeid, mark.args, mark.kwargs))
            except SourceMarkError as problem:
                problems.append(str(problem))
    if problems:
        raise pytest.UsageError("\n".join(problems))
    config.stash[EVIDENCE] = found
    _leave_the_share(config, items)


ROOMS_BY_TURNS = {
    "tests/visits/": 3,
    "tests/drawings/": 3,
    "tests/reports/": 3,
    "tests/cli/": 3,
    "tests/design/": 3,
    "tests/hydraulics/": 3,
    "tests/independent/": 3,
    "tests/laws/": 4,
    "tests/procedure/": 2,
    "tests/services/": 3,
    "tests/services/field/": 3,
    "tests/web/": 3,
    "tests/web/field/": 4,
}
"""Rooms whose files run one time in so many in the check of every change, each as if marked `by_turns`."""


def _leave_the_share(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Keep the cases and files that this run's seed draws of those marked `share` and `by_turns`.

    Without the ci profile all are kept.
    """
    if PROFILE != "ci":
        return
    turn = _turn_of_files(items)
    drawn: list[pytest.Item] = []
    left: list[pytest.Item] = []
    for item in items:
        file, case = item.nodeid.partition("::")[0], item.nodeid.partition("[")[2]
        both = (file, _turns(item, file)) in turn and (not case or _case_is_drawn(item, case))
        (drawn if both else left).append(item)
    if left:
        config.hook.pytest_deselected(items=left)
        items[:] = drawn


def _turn_of_files(items: list[pytest.Item]) -> set[tuple[str, int]]:
    """Return the files whose turn it is: as many of each room in every run, so that runs last alike."""
    rooms: dict[tuple[str, int], set[str]] = {}
    for item in items:
        file = item.nodeid.partition("::")[0]
        turns = _turns(item, file)
        rooms.setdefault(("/".join(file.split("/")[:2]), turns), set()).add(file)
    drawn: set[tuple[str, int]] = set()
    for (room, turns), files in rooms.items():
        number = (len(files) + _lot(f"{room} {turns}") % turns) // turns
        drawn.update((file, turns) for file in sorted(files, key=_lot)[:number])
    return drawn


def _turns(item: pytest.Item, file: str) -> int:
    """Return one time in how many a test of this file runs, by its mark or its room."""
    found = item.get_closest_marker("by_turns")
    marked = 1 if found is None else int(found.args[0])
    return max([marked, *(one for room, one in ROOMS_BY_TURNS.items() if file.startswith(room))])


def _case_is_drawn(item: pytest.Item, case: str) -> bool:
    found = item.get_closest_marker("share")
    return found is None or _lot(case) % int(found.args[0]) == 0


def _lot(of: str) -> int:
    return zlib.crc32(f"{SEED} {of}".encode())


def pytest_collection_finish(session: pytest.Session) -> None:
    place = session.config.getoption("verification_table")
    if place is None or hasattr(session.config, "workerinput"):
        return
    if session.testsfailed:
        raise pytest.UsageError("The verification table needs every test file to load; see the errors above.")
    found = session.config.stash[EVIDENCE]
    place.write_text(table(found), encoding="utf-8")


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip loudly what this machine cannot do; where everything is required a skip is a failure."""
    for reason in _reasons_to_skip(item):
        if REQUIRE_ALL:
            pytest.fail(f"{reason} REQUIRE_ALL=1 asks for it.", pytrace=False)
        pytest.skip(reason)
    if item.get_closest_marker("slow") is not None and not _slow_is_asked_for(item):
        pytest.skip("Slow: runs where REQUIRE_ALL=1 is set, or with -m slow.")


def _reasons_to_skip(item: pytest.Item) -> list[str]:
    wanted = [str(mark.args[0]) for mark in item.iter_markers("system")]
    reasons = [f"{program} is not on this machine." for program in wanted if shutil.which(program) is None]
    if item.get_closest_marker("browser") is not None and not any(map(shutil.which, BROWSERS)):
        reasons.append(f"No browser on this machine (looked for {', '.join(BROWSERS)}).")
    return reasons


def _slow_is_asked_for(item: pytest.Item) -> bool:
    return REQUIRE_ALL or "slow" in str(item.config.getoption("markexpr", ""))
