"""Programs from outside Python that some tests need: installed where we are root, else told."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Sequence

from devtools.places import tell

# program -> Debian package that brings it, and what is not tested without it
PIECES = {
    "pdftoppm": ("poppler-utils", "the printed pages are not looked at as pictures"),
    "chromium": ("chromium", "the pages are not tried in a browser"),
    "mosquitto": ("mosquitto", "messages are not tried with a real broker"),
}


def is_root() -> bool:
    """Return whether this process may install system packages."""
    return hasattr(os, "geteuid") and os.geteuid() == 0


def install_with_apt(packages: Sequence[str]) -> bool:
    """Install Debian *packages* where we are root and apt is there; return whether it worked."""
    if not is_root() or shutil.which("apt-get") is None:
        return False
    tell(f"Installing system package: {', '.join(packages)}.")
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (
        ["apt-get", "update", "-qq"],
        ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages],
    ):
        done = subprocess.run(command, env=environment, check=False, stdout=subprocess.DEVNULL)
    return done.returncode == 0


def missing_pieces() -> list[str]:
    """Return the programs of `PIECES` that are not on this machine."""
    return [program for program in PIECES if shutil.which(program) is None]


def provide_pieces() -> None:
    """Install what is missing where possible, and name loudly what stays missing."""
    missing = missing_pieces()
    if missing:
        install_with_apt([PIECES[program][0] for program in missing])
    for program in missing_pieces():
        package, consequence = PIECES[program]
        tell(
            f"SKIPPED: {program} is not on this machine, so {consequence}. "
            f"Install {package} to test that too."
        )
