"""The command line: parse, call one service, show. No engineering in here."""

from __future__ import annotations

import os
import sys


def main() -> None:
    """Run the command line; every error is said in words, never as a traceback.

    Exit status: 0 fine, 1 findings that forbid release, 2 unusable input, 3 a fault inside steadyhead.
    """
    from steadyhead.cli.app import run

    try:
        status = run(sys.argv[1:])
        sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        status = 0
    except KeyboardInterrupt:
        print("Stopped. Nothing half finished was kept.", file=sys.stderr)
        status = 130
    sys.exit(status)
