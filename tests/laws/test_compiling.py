from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from steadyhead.laws import compiling

pytestmark = pytest.mark.by_turns(5)

HOUSE = compiling.PACKAGE
# `fresh` in one file calls `times` in another.
CALLER = """
from steadyhead.laws.compiling import kernel
from steadyhead.laws.{helper} import times


@kernel
def fresh(x: float) -> float:
    return times(x) + 1.0
"""
HELPER = """
from steadyhead.laws.compiling import kernel


@kernel
def times(x: float) -> float:
    return {factor} * x
"""
ASK = (
    "from steadyhead.laws.caller import fresh; from steadyhead.laws import compiling as c; "
    "print(fresh(6.0), c.cache_folder().name, c.cache_message() or 'usual')"
)


def small_house(place: Path, factor: str) -> Path:
    """Copy the switch of the house with two kernels of our own beside it."""
    room = place / "steadyhead" / "laws"
    room.mkdir(parents=True)
    for name in ("__init__.py", "laws/__init__.py", "laws/compiling.py", "laws/shortcuts.py"):
        shutil.copy(HOUSE / name, place / "steadyhead" / name)
    (room / "caller.py").write_text(CALLER.format(helper="helper"))
    (room / "helper.py").write_text(HELPER.format(factor=factor))
    return place


def ask(place: Path, script: str = ASK, **variables: str) -> list[str]:
    kept = {
        name: value
        for name, value in os.environ.items()
        if name not in ("NUMBA_CACHE_DIR", "STEADYHEAD_ENGINE")
    }
    done = subprocess.run(
        [sys.executable, "-c", script],
        env=kept | {"PYTHONPATH": str(place)} | variables,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


def test_changed_kernel_in_another_file_is_never_read_from_old_code(tmp_path):
    place = small_house(tmp_path, "10.0")
    first = ask(place)
    again = ask(place)
    (place / "steadyhead" / "laws" / "helper.py").write_text(HELPER.format(factor="61.625"))
    changed = ask(place)
    assert first[0] == "61.0"
    assert again == first
    assert changed[0] == "370.75"
    assert changed[1] != first[1]


def test_two_processes_compile_at_once_and_both_are_right(tmp_path):
    place = small_house(tmp_path, "10.0")
    kept = {
        name: value
        for name, value in os.environ.items()
        if name not in ("NUMBA_CACHE_DIR", "STEADYHEAD_ENGINE")
    }
    running = [
        subprocess.Popen(
            [sys.executable, "-c", ASK],
            env=kept | {"PYTHONPATH": str(place)},
            stdout=subprocess.PIPE,
            text=True,
        )
        for _ in range(2)
    ]
    answers = [process.communicate()[0].split()[0] for process in running]
    assert answers == ["61.0", "61.0"]
    assert ask(place)[0] == "61.0"


def test_code_goes_to_the_users_folder_where_the_package_is_not_writable(tmp_path):
    place = small_house(tmp_path / "house", "10.0")
    (tmp_path / "wall").write_text("a file, not a folder")
    words = ask(place, NUMBA_CACHE_DIR=str(tmp_path / "wall"), XDG_CACHE_HOME=str(tmp_path / "own"))
    assert words[0] == "61.0"
    assert " ".join(words[2:]).startswith("Compiled code is kept in")
    assert list((tmp_path / "own" / "steadyhead").glob("kernels-*/**/*.nbi"))


def test_without_any_writable_folder_it_still_computes_and_says_so(tmp_path):
    place = small_house(tmp_path / "house", "10.0")
    wall = tmp_path / "wall"
    wall.write_text("a file, not a folder")
    script = ASK.replace("c.cache_folder().name", "c.cache_folder()")
    words = ask(place, script, NUMBA_CACHE_DIR=str(wall), XDG_CACHE_HOME=str(wall))
    assert words[:2] == ["61.0", "None"]
    assert "Compiled code is not kept" in " ".join(words)
    assert "Set NUMBA_CACHE_DIR" in " ".join(words)


def test_plain_mode_is_ordinary_python_without_the_compiler(tmp_path):
    place = small_house(tmp_path, "10.0")
    script = (
        "from steadyhead.laws import compiling as c; c.choose('plain'); "
        "from steadyhead.laws.caller import fresh; import sys; "
        "print(fresh(6.0), type(fresh).__name__, 'numba' in sys.modules, 'numpy' in sys.modules, "
        "type(c.floats([1])).__name__, type(c.table([[1]], 1)[0]).__name__, c.cache_folder())"
    )
    assert ask(place, script) == ["61.0", "function", "False", "False", "list", "list", "None"]


def test_environment_chooses_the_engine_and_a_wrong_word_is_refused(tmp_path):
    place = small_house(tmp_path, "10.0")
    mode = "from steadyhead.laws import compiling as c; print(c.mode())"
    assert ask(place, mode, STEADYHEAD_ENGINE="plain") == ["plain"]
    refused = mode.replace(
        "print(c.mode())", "\ntry:\n    c.mode()\nexcept ValueError as error:\n    print(error)"
    )
    assert "'plain' or 'compiled'" in " ".join(ask(place, refused, STEADYHEAD_ENGINE="fast"))


def test_kernels_are_right_when_called_from_threads(tmp_path):
    place = small_house(tmp_path, "10.0")
    script = (
        "from concurrent.futures import ThreadPoolExecutor as P\n"
        "def f(x):\n"
        "    from steadyhead.laws.caller import fresh\n"
        "    return fresh(float(x))\n"
        "print(sum(P(4).map(f, range(100))))"
    )
    assert ask(place, script) == ["49600.0"]


def test_choice_cannot_change_once_kernels_exist():
    now = compiling.mode()
    compiling.choose(now)
    with pytest.raises(RuntimeError, match=r"^engine mode: kernels already run"):
        compiling.choose("plain" if now == "compiled" else "compiled")
    with pytest.raises(ValueError, match=r"^engine mode: got 'fast'"):
        compiling.choose("fast")  # type: ignore[arg-type]


def test_fingerprint_covers_every_kernel_folder_and_no_other():
    names = {path.relative_to(HOUSE).as_posix() for path in compiling.kernel_sources()}
    assert {"laws/valves.py", "laws/compiling.py", "hydraulics/kernel/steady.py"} <= names
    assert not {name for name in names if not (name.startswith("laws/") or "/kernel/" in name)}


def test_first_writable_folder_is_used_without_a_message(tmp_path):
    folder, message = compiling.first_writable([tmp_path / "a", tmp_path / "b"], "kernels-x")
    assert folder == tmp_path / "a" / "kernels-x"
    assert message == ""


def test_rows_have_the_shape_of_the_mode():
    rows = compiling.table([[1, 2], [3, 4]], 2)
    assert [list(row) for row in rows] == [[1.0, 2.0], [3.0, 4.0]]
    assert len(compiling.table([], 2)) == 0
    assert [list(row) for row in compiling.integer_table([[1], [2]], 1)] == [[1], [2]]
    assert list(compiling.floats([1, 2])) == [1.0, 2.0]
    assert list(compiling.integers([1, 2])) == [1, 2]


INNER = """
from steadyhead.laws.compiling import inner_kernel, kernel

@inner_kernel
def deep(x):
    return 2.0 * x

@kernel
def door(x):
    return deep(x) + 1.0

print(deep(3.0), door(3.0), deep(4.0), deep(1))
"""


@pytest.mark.parametrize("engine", ["plain", "compiled"])
def test_a_kernel_made_for_kernels_may_be_called_from_python_too(tmp_path, engine):
    (tmp_path / "ask.py").write_text(INNER)
    for _ in range(2):
        done = subprocess.run(
            [sys.executable, str(tmp_path / "ask.py")],
            env=os.environ | {"STEADYHEAD_ENGINE": engine, "PYTHONPATH": str(HOUSE.parent)},
            capture_output=True,
            text=True,
            check=True,
        )
        assert done.stdout.split() == ["6.0", "7.0", "8.0", "2.0"]


SHORTCUTS = """
import sys
from steadyhead.laws import compiling, shortcuts
{change}
from steadyhead.laws.compiling import array_kernel, inner_kernel, kernel

@inner_kernel
def deep(x):
    return 2.0 * x

@kernel
def door(x):
    return deep(x) + 1.0

print(deep(3.0), door(3.0), "numba.np.arraymath" in sys.modules)

@kernel
def later(row):
    return row[0] + row[1]

print(later(compiling.floats([1.0, 2.0])), compiling.shortcut_message())
"""
USUAL = "first use, start and runs take up to twice as long; the numbers are the same."


def shortened(place: Path, change: str, *, asks_deep: bool = True) -> str:
    """Run a script with one change to the shortcuts and return what it prints."""
    script = place / "ask.py"
    text = SHORTCUTS.format(change=change)
    script.write_text(text if asks_deep else text.replace("deep(3.0), ", ""))
    done = subprocess.run(
        [sys.executable, str(script)],
        env=os.environ
        | {"STEADYHEAD_ENGINE": "compiled", "PYTHONPATH": str(HOUSE.parent), "NUMBA_CACHE_DIR": str(place)},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


def test_kept_code_is_loaded_without_the_tables_of_the_compiler_and_more_may_be_compiled(tmp_path):
    told = [shortened(tmp_path, "", asks_deep=False).splitlines() for _ in range(2)]
    assert told == [["7.0 True", "3.0 "], ["7.0 False", "3.0 "]]
    assert shortened(tmp_path, "") == "6.0 7.0 True\n3.0 \n"


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ("shortcuts.NEWEST = (0, 1)", "is newer than 0.1, the newest tried"),
        ("shortcuts.USED = {'numba.core.caching:Cache': ('_tomorrow',)}", "lacks Cache._tomorrow"),
        ("import numba; numba.__version__ = 'of tomorrow'", "is newer than 0.68, the newest tried"),
        ("shortcuts.USED = {'numba.core.nowhere:Thing': ()}", "lacks numba.core.nowhere.Thing"),
    ],
)
def test_a_compiler_that_is_not_known_is_used_in_the_usual_way_and_this_is_said(tmp_path, change, reason):
    told = shortened(tmp_path, change)
    assert told.startswith("6.0 7.0 True\n3.0 Kernels are compiled in the usual way")
    assert reason in told
    assert USUAL in told


@pytest.mark.parametrize(("change", "kind"), [("", "nbc"), ("shortcuts.NEWEST = (0, 1)", "nbi")])
def test_damaged_code_is_dropped_and_compiled_anew_and_this_is_said(tmp_path, kind, change):
    change += "\ncompiling.tell_damage(print)"
    shortened(tmp_path, change, asks_deep=False)
    files = list(tmp_path.rglob(f"*.{kind}"))
    assert len(files) >= 2
    for file in files:
        file.write_bytes(b"not what it was")
    told = shortened(tmp_path, change, asks_deep=False)
    assert told.count("was damaged; it is dropped and compiled anew.") == 1
    assert "7.0 True" in told
    healed = shortened(tmp_path, change, asks_deep=False)
    assert "damaged" not in healed
