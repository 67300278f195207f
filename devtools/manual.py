"""Where the manual is built, and with which command."""

from __future__ import annotations

import sys

from devtools.places import ROOT

SOURCE = ROOT / "docs"
BUILD = SOURCE / "_build"
PAGES = BUILD / "html"


def build_command() -> list[str]:
    """Return the command that builds the manual; a warning is an error."""
    doctrees = ["-d", str(BUILD / "doctrees")]
    return [
        sys.executable,
        "-m",
        "sphinx",
        "-q",
        "-W",
        "--keep-going",
        "-b",
        "html",
        *doctrees,
        str(SOURCE),
        str(PAGES),
    ]
