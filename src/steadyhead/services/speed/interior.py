"""The inner nodes of a main by the kernel, and by the same arithmetic in C where there is a compiler."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
import tempfile
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from steadyhead import surge
from steadyhead.laws.compiling import integer_table, kernel
from steadyhead.laws.friction_table import PARTS
from steadyhead.services.speed.cases import pair
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.kernel.pipes import advance_pipes
from steadyhead.surge.running import kernel_views

STEPS = 2000
REACHES = 260
FLAGS = ("-O3", "-march=native", "-fno-math-errno")
"""Without the last a square root may set a flag of the C library, and C is not half as fast."""


@kernel
def _many(steps: int, pipes: at.Pipes, water: list[float]) -> None:
    for _ in range(steps):
        advance_pipes(pipes, water)


class Interior:
    """One main whose inner nodes are advanced in two ways, each with its own copy of the nodes."""

    def __init__(self) -> None:
        """Lay out one main as the kernel and as the C text take it."""
        self.plant = surge.compile_plan(pair(REACHES))
        state = surge.start(self.plant)
        grid = self.plant.grids[0]
        views = kernel_views(self.plant, state)
        links: Any = self.plant.pipe_links
        values: Any = self.plant.pipe_values
        nodes: Any = state.nodes
        one = slice(grid.place, grid.place + 1)
        self.start = int(links[grid.place][at.FACTORS])
        self.nodes: Any = nodes[:, one, :].copy()
        self.pipes = views.pipes._replace(
            links=integer_table([[grid.reaches, self.start, 0]], at.PIPE_LINKS),
            values=values[one].copy(),
            nodes=nodes[:, one, :].copy(),
        )
        self.reaches = grid.reaches

    def ours(self) -> None:
        """Advance by the kernel."""
        _many(STEPS, self.pipes, self.plant.water)

    def in_c(self) -> None:
        """Advance by the C text."""
        value, water = self.pipes.values[0], self.plant.water
        library = compiled_c()
        assert library is not None
        factors: Any = self.plant.factors
        library.interior(
            STEPS,
            self.reaches,
            self.nodes.shape[2],
            _pointer(self.nodes),
            _pointer(factors[self.start :]),
            PARTS,
            *(ctypes.c_double(value[c]) for c in (at.IMPEDANCE, at.RESISTANCE, at.REYNOLDS, at.GAS)),
            *(ctypes.c_double(water[c]) for c in (at.STEP, at.WEIGHTING, at.VAPOUR_HEAD)),
        )


def _pointer(row: Any) -> Any:
    return row.ctypes.data_as(ctypes.POINTER(ctypes.c_double))


@cache
def compiled_c() -> ctypes.CDLL | None:
    """Return the C text as a library; None without a C compiler that takes it."""
    compiler = next((found for name in ("cc", "gcc", "clang") if (found := shutil.which(name))), None)
    if compiler is None:
        return None
    text = files("steadyhead.services.speed").joinpath("interior.c").read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory(prefix="steadyhead-", ignore_cleanup_errors=True) as made:
        source, target = Path(made) / "interior.c", Path(made) / "interior.so"
        source.write_text(text, encoding="utf-8")
        command = [compiler, *FLAGS, "-shared", "-fPIC", str(source), "-o", str(target), "-lm"]
        done = subprocess.run(command, capture_output=True, check=False)
        try:
            return ctypes.CDLL(str(target)) if done.returncode == 0 else None
        except OSError:
            return None
