"""Make `.venv` from the locks: once slowly, then not at all until something changes.

A lock is installed by hash. The installer itself is locked too (`requirements-installer.lock`); where it
cannot be had, or where STEADYHEAD_INSTALLER=pip is set, pip does the same work more slowly. No registry is
named anywhere: pip and the installer use whatever the machine is set up for.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import importlib.util
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import IO

from devtools.places import PYTHON, ROOT, VENV, run, tell
from devtools.system import install_with_apt

CORE = "requirements.lock"
TEST = "requirements-test.lock"
INSTALLER = "requirements-installer.lock"
NEWEST_PROVED = (3, 14)


class SetUpError(Exception):
    """The environment cannot be made; the text says why and what to do."""


def ensure(lock: str) -> Path:
    """Return the environment's Python after everything in *lock* is installed in it."""
    if not _is_ready(lock):
        with _alone():
            if not _is_ready(lock):  # another start may have done it while this one waited
                _make_environment()
                _install(lock)
                _stamp(lock).write_text(_fingerprint(lock))
    return PYTHON


def _is_ready(lock: str) -> bool:
    """Return whether *lock*, or one that holds all of it, is installed as it stands now."""
    enough = [CORE, TEST] if lock == CORE else [lock]
    return any(_stamp(name).exists() and _stamp(name).read_text() == _fingerprint(name) for name in enough)


def _stamp(lock: str) -> Path:
    return VENV / f".ready-{Path(lock).stem}"


def _fingerprint(lock: str) -> str:
    """Return a hash of all that decides what is installed and where."""
    digest = hashlib.sha256()
    for name in (lock, "pyproject.toml"):
        digest.update((ROOT / name).read_bytes())
    digest.update(_identity().encode())
    return digest.hexdigest()


def _identity() -> str:
    """Return which Python made the environment, and for which folder: neither can be moved."""
    return f"{sys.version}\n{os.path.realpath(sys.base_prefix)}\n{ROOT}\n"


@contextlib.contextmanager
def _alone() -> Iterator[None]:
    """Let one set-up at a time work on the environment, where the system can lock a file."""
    cache = ROOT / ".cache"
    cache.mkdir(exist_ok=True)
    with (cache / "set-up.lock").open("w") as handle:
        _wait_for(handle)
        yield


def _wait_for(handle: IO[str]) -> None:
    if sys.platform != "win32":
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX)


def _make_environment() -> None:
    """Make an empty environment unless one made by this same Python is there and runs."""
    made_by = VENV / ".made-by"
    if made_by.exists() and made_by.read_text() == _identity() and _runs(PYTHON):
        return
    _require_ensurepip()
    if sys.version_info[:2] > NEWEST_PROVED:
        newest, this = _dotted(NEWEST_PROVED), _dotted(sys.version_info[:2])
        tell(f"Note: the locks are proved up to Python {newest}; this is {this}.")
    tell("Setting up .venv. The first time takes from half a minute to a few minutes and about 1 GB of disk.")
    if run([sys.executable, "-m", "venv", "--clear", VENV]) != 0:
        raise SetUpError(
            f"The environment could not be made in {VENV}. Check free space and write permission."
        )
    made_by.write_text(_identity())


def _runs(python: Path) -> bool:
    if not python.exists():
        return False
    return subprocess.run([python, "-c", ""], check=False, capture_output=True).returncode == 0


def _dotted(version: Sequence[int]) -> str:
    return ".".join(str(part) for part in version)


def _require_ensurepip() -> None:
    """Get the piece that Debian and Ubuntu leave out of their Python, or say how to get it."""
    if importlib.util.find_spec("ensurepip") is not None:
        return
    package = f"python{_dotted(sys.version_info[:2])}-venv"
    if install_with_apt([package]):
        importlib.invalidate_caches()
        if importlib.util.find_spec("ensurepip") is not None:
            return
    raise SetUpError(
        "This Python has no ensurepip, so it cannot make an environment. "
        f"Install the system package {package} (as root on Debian or Ubuntu: apt-get install {package}), "
        "then run the same command again."
    )


def _install(lock: str) -> None:
    started = time.monotonic()
    for name, installer in _installers():
        options = ["--require-hashes", "--only-binary", ":all:", "-r", lock]
        if run([*installer, *options], env=_with_bytecode()) == 0:
            break
        tell(f"Installing with {name} did not work.")
    else:
        raise SetUpError(
            f"The packages in {lock} could not be installed; the lines above say why. "
            "Check that this machine reaches its package registry, then run the same command again."
        )
    project = ["--no-deps", "--no-build-isolation", "-e", "."]
    if run([*installer, *project], env=_with_bytecode()) != 0:
        raise SetUpError("steadyhead itself could not be installed into .venv; the lines above say why.")
    tell(f"Set up from {lock} in {time.monotonic() - started:.0f} s.")


def _installers() -> Iterator[tuple[str, list[str | Path]]]:
    """Yield the ways to install, best first; pip is always the last."""
    pip: list[str | Path] = [PYTHON, "-m", "pip", "--disable-pip-version-check", "-q", "install"]
    refused = os.environ.get("STEADYHEAD_INSTALLER") == "pip"
    if not refused and run([*pip, "--require-hashes", "--only-binary", ":all:", "-r", INSTALLER]) == 0:
        uv: list[str | Path] = [PYTHON, "-m", "uv", "-q", "pip", "install"]
        yield "uv", [*uv, "--compile-bytecode", "--python", PYTHON]
    tell("Installing with pip, which is slower.")
    yield "pip", [*pip, "--compile"]


def _with_bytecode() -> dict[str, str]:
    """Return settings that keep bytecode on: without it every start parses all sources again."""
    return {"PYTHONDONTWRITEBYTECODE": ""}
