"""The rules in `tests/conftest.py`, tried on small trees of their own."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from devtools.places import ROOT

OURS = ("REQUIRE_ALL", "HYPOTHESIS_PROFILE", "STEADYHEAD_SEED", "PYTEST_ADDOPTS", "PYTEST_XDIST_WORKER")
INHERITED = {name: value for name, value in os.environ.items() if name not in OURS}
SEEDED = """
from pathlib import Path
from hypothesis import core

def test_one_process():
    Path("seed-one").write_text(str(core.global_force_seed))

def test_other_process():
    Path("seed-other").write_text(str(core.global_force_seed))
"""
NEEDY = """
import pytest

@pytest.mark.system("no-such-program")
def test_that_needs_it(): ...

@pytest.mark.slow
def test_that_takes_long(): ...
"""
SHARED = """
import pytest

@pytest.mark.share(3)
@pytest.mark.parametrize("case", range(90))
def test_one(case): ...

@pytest.mark.share(3)
@pytest.mark.parametrize("case", range(90))
def test_other(case): ...

@pytest.mark.share(3)
def test_without_cases(): ...
"""
UNSOURCED = """
import pytest

@pytest.mark.source(kind="published", ref="")
def test_a_number(): ...
"""


def _pytest(folder: Path, text: str, *words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    (folder / "tests").mkdir()
    (folder / "tests" / "test_it.py").write_text(text)
    (folder / "tests" / "conftest.py").write_bytes((ROOT / "tests" / "conftest.py").read_bytes())
    (folder / "pyproject.toml").write_bytes((ROOT / "pyproject.toml").read_bytes())
    paths = os.pathsep.join([str(ROOT), str(ROOT / "src")])
    return subprocess.run(
        [sys.executable, "-m", "pytest", *words],
        cwd=folder,
        env={**INHERITED, "PYTHONPATH": paths, **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def test_one_printed_seed_reaches_every_process(tmp_path):
    done = _pytest(tmp_path, SEEDED, "-n", "2", HYPOTHESIS_PROFILE="ci")
    seeds = {(tmp_path / name).read_text() for name in ("seed-one", "seed-other")}
    assert len(seeds) == 1, done.stdout
    assert f"STEADYHEAD_SEED={seeds.pop()}" in done.stdout


def test_what_the_machine_lacks_is_skipped_with_its_name(tmp_path):
    done = _pytest(tmp_path, NEEDY)
    assert "no-such-program is not on this machine." in done.stdout
    assert "2 skipped" in done.stdout
    assert done.returncode == 0


def test_where_everything_is_required_a_lack_is_a_failure_and_slow_tests_run(tmp_path):
    done = _pytest(tmp_path, NEEDY, REQUIRE_ALL="1")
    assert "1 passed, 1 error" in done.stdout


def test_a_source_without_reference_stops_the_run(tmp_path):
    done = _pytest(tmp_path, UNSOURCED)
    assert "tests/test_it.py::test_a_number: source has no ref" in done.stderr
    assert done.returncode == pytest.ExitCode.USAGE_ERROR


def test_a_share_of_cases_is_drawn_by_the_seed_and_all_of_them_run_otherwise(tmp_path):
    """Both tests draw the same cases, so that what is worked out for one serves the other."""
    run = _pytest(tmp_path, SHARED, "-v", HYPOTHESIS_PROFILE="ci", STEADYHEAD_SEED="7")
    names = re.findall(r"test_(one|other)\[(\d+)\] PASSED", run.stdout)
    one, other = ({case for test, case in names if test == which} for which in ("one", "other"))
    assert one == other
    assert 10 < len(one) < 60
    assert "test_without_cases PASSED" in run.stdout
    assert "deselected" in run.stdout
    shutil.rmtree(tmp_path / "tests")
    assert "181 passed" in _pytest(tmp_path, SHARED, HYPOTHESIS_PROFILE="dev").stdout


def test_a_file_that_takes_turns_runs_whole_or_not_at_all(tmp_path):
    text = "import pytest\npytestmark = pytest.mark.by_turns(2)\ndef test_a(): ...\ndef test_b(): ...\n"
    counted = set()
    for seed in map(str, range(6)):
        counted.add(_count(_pytest(tmp_path, text, HYPOTHESIS_PROFILE="ci", STEADYHEAD_SEED=seed).stdout))
        shutil.rmtree(tmp_path / "tests")
    assert counted == {0, 2}
    assert _count(_pytest(tmp_path, text, HYPOTHESIS_PROFILE="dev").stdout) == 2


def _count(told: str) -> int:
    found = re.search(r"(\d+) passed", told)
    return int(found[1]) if found else 0
