"""The commands of `dev.py`, and nothing else."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from devtools.bootstrap import CORE, TEST, SetUpError, ensure
from devtools.places import run, tell
from devtools.system import provide_pieces

PARALLEL = ["-n", "2", "--dist", "loadfile", "--no-loadscope-reorder"]
"""Two processes; the tests of one file stay in one of them, since they share what they build."""


def main(arguments: Sequence[str]) -> int:
    """Run one command of `dev.py` and return its exit code."""
    parser = _parser()
    known, rest = parser.parse_known_args(arguments)
    if rest and known.command != "test":
        parser.error(f"{known.command} does not know: {' '.join(rest)}")
    try:
        return _run(known, rest)
    except SetUpError as error:
        tell(f"dev.py: {error}")
        return 3
    except KeyboardInterrupt:
        tell("dev.py: stopped.")
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="dev.py", description="Set up, try, test, check and measure steadyhead."
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    commands.add_parser("demo", help="set up and run the main job on an example station")
    commands.add_parser("test", help="run the tests; further words go to pytest", add_help=False)
    commands.add_parser("check", help="format, lint, types, import layers, sizes, locks, manual")
    bench = commands.add_parser("bench", help="run the benchmarks and write bench/results/NAME.json")
    bench.add_argument("name", nargs="?", help="one benchmark only")
    campaign = commands.add_parser("campaign", help="run one campaign and write docs/evidence/NAME.json")
    campaign.add_argument("name")
    campaign.add_argument("--seed", type=int, help="repeat an earlier campaign")
    campaign.add_argument(
        "--n", "--count", type=int, help="number of cases; the campaign's own full number if left out"
    )
    campaign.add_argument("--all", action="store_true", help="leave nothing out, where it is a sample")
    return parser


def _run(chosen: argparse.Namespace, rest: Sequence[str]) -> int:
    if chosen.command == "demo":
        python = ensure(CORE)
        return run([python, "-m", "devtools.demo"])
    python = ensure(TEST)
    if chosen.command == "test":
        provide_pieces()
        parallel = [] if any(word.startswith("-n") for word in rest) else PARALLEL
        return run([python, "-m", "pytest", *parallel, *rest])
    if chosen.command == "check":
        return run([python, "-m", "devtools.checks"])
    if chosen.command == "bench":
        return run([python, "-m", "bench", *([chosen.name] if chosen.name else [])])
    seed, n = chosen.seed, chosen.n
    options = [
        *(["--seed", str(seed)] if seed is not None else []),
        *(["--n", str(n)] if n is not None else []),
        *(["--all"] if chosen.all else []),
    ]
    return run([python, "-m", "devtools.campaign", chosen.name, *options])
