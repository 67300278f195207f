from __future__ import annotations

import shutil
from pathlib import Path

from devtools.bootstrap import CORE, INSTALLER, TEST
from devtools.console_examples import console_examples
from devtools.locks import lock_problems
from devtools.places import ROOT
from devtools.sizes import size_problems

PAGE = """
```console
$ steadyhead example
pinnock-yard
$ cat file
$ steadyhead check file
one finding
[exit code 1]
```
"""


def _copy_of_locks(folder: Path) -> Path:
    for name in (CORE, TEST, INSTALLER, "pyproject.toml"):
        shutil.copy(ROOT / name, folder / name)
    return folder


def test_the_locks_of_this_tree_hold():
    assert list(lock_problems(ROOT)) == []


def test_a_lock_that_names_an_address_is_refused(tmp_path):
    lock = _copy_of_locks(tmp_path) / CORE
    lock.write_text("--index-url https" + "://example.invalid/simple\n" + lock.read_text())
    assert any("names an address" in problem for problem in lock_problems(tmp_path))


def test_a_package_without_hash_is_named(tmp_path):
    lock = _copy_of_locks(tmp_path) / CORE
    lock.write_text(lock.read_text() + "stray==1.0\n")
    assert f"{CORE}: no hash for stray==1.0." in list(lock_problems(tmp_path))


def test_a_dependency_that_is_not_locked_is_named(tmp_path):
    project = _copy_of_locks(tmp_path) / "pyproject.toml"
    project.write_text(project.read_text().replace('"rich>=13",', '"rich>=13", "Brand_New>=1",'))
    assert any("brand-new is missing" in problem for problem in lock_problems(tmp_path))


def test_a_file_of_five_hundred_lines_is_named(tmp_path):
    (tmp_path / "src").mkdir()
    (tmp_path / "dev.py").write_text("")
    (tmp_path / "src" / "short.py").write_text("x = 1\n" * 499)
    (tmp_path / "src" / "long.py").write_text("x = 1\n" * 500)
    assert [problem.partition(":")[0] for problem in size_problems(tmp_path)] == ["src/long.py"]


def test_only_our_own_commands_of_a_page_are_run():
    found = [(one.line, one.command, one.expected) for one in console_examples(PAGE)]
    assert found == [
        (3, "steadyhead example", "pinnock-yard"),
        (6, "steadyhead check file", "one finding\n[exit code 1]"),
    ]
