"""How long a person waits before the first word."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

from bench.harness import Benchmark

BARE = (sys.executable, "-c", "pass")
IMPORT = (sys.executable, "-c", "import steadyhead")
HELP = (sys.executable, "-c", "from steadyhead.cli import main; main()", "--help")


def _started(command: tuple[str, ...]) -> Callable[[], object]:
    return lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL)


BENCHMARKS = (
    Benchmark(
        name="start",
        about="a bare interpreter, the import of the package, and the answer to --help",
        candidates={
            "bare interpreter": _started(BARE),
            "import steadyhead": _started(IMPORT),
            "steadyhead --help": _started(HELP),
        },
    ),
)
