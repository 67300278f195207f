from __future__ import annotations

import os
import subprocess
import sys

ROOMS = "steadyhead.laws, steadyhead.hydraulics.kernel, steadyhead.water"

SCRIPT = """
import doctest, importlib, pkgutil, sys
tried = failed = 0
for room in sys.argv[1].split(", "):
    package = importlib.import_module(room)
    for info in [None, *pkgutil.iter_modules(package.__path__)]:
        name = room if info is None else f"{room}.{info.name}"
        found = doctest.testmod(importlib.import_module(name), optionflags=doctest.ELLIPSIS)
        tried, failed = tried + found.attempted, failed + found.failed
print(tried, failed)
assert "numba" not in sys.modules, "plain mode loaded numba"
"""


def test_examples_in_the_docstrings_are_true_and_plain_mode_loads_no_compiler():
    place = os.environ | {"STEADYHEAD_ENGINE": "plain", "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, ROOMS], env=place, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    tried, failed = map(int, done.stdout.split()[-2:])
    assert failed == 0, done.stdout
    assert tried >= 25
