"""The command line: parse, call one service, show. No engineering in here."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line; every error is said in words, never as a traceback.

    Exit status: 0 fine, 1 findings that forbid release, 2 unusable input or no place for the output,
    3 a fault inside steadyhead, 130 stopped by hand, 141 the reader of the output has gone.
    """
    from steadyhead.cli import streams
    from steadyhead.cli.app import run, say_no_room

    if not streams.prepare():
        print("standard output: is closed.\n    Leave it open, or send it to a file.", file=sys.stderr)
        sys.exit(2)
    try:
        status = run(sys.argv[1:])
        sys.stdout.flush()
    except BrokenPipeError:
        streams.silence()
        status = 141
    except OSError as problem:
        streams.silence()
        status = say_no_room(problem)
    except KeyboardInterrupt:
        print("Stopped. Nothing half finished was kept.", file=sys.stderr)
        status = 130
    sys.exit(status)
