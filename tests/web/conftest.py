"""Pages tried without a socket: a register with three stations, and clients who ask it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from steadyhead.register import Register, open_register
from steadyhead.web.app import make_app
from tests.web.filled import Client, fill


@pytest.fixture(scope="session")
def _filled_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Fill a register once; each test gets a copy."""
    folder = tmp_path_factory.mktemp("filled") / "register"
    found = open_register(folder)
    fill(found)
    found.close()
    return folder


@pytest.fixture(scope="session")
def _empty_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the tables once; each test gets a copy."""
    folder = tmp_path_factory.mktemp("empty") / "register"
    open_register(folder).close()
    return folder


@pytest.fixture
def register(tmp_path: Path, _empty_folder: Path) -> Iterator[Register]:
    """An empty register."""
    folder = tmp_path / "register"
    shutil.copytree(_empty_folder, folder)
    found = open_register(folder)
    yield found
    found.close()


@pytest.fixture
def filled(tmp_path: Path, _filled_folder: Path) -> Iterator[Register]:
    """A register with three example stations."""
    folder = tmp_path / "filled"
    shutil.copytree(_filled_folder, folder)
    found = open_register(folder)
    yield found
    found.close()


@pytest.fixture
def client(filled: Register) -> Client:
    """A client of the filled register, alone on this machine."""
    return Client(make_app(filled))


@pytest.fixture(scope="session")
def shared(_filled_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Client]:
    """A client of one filled register for all tests that change nothing in it; cookies are forgotten."""
    folder = tmp_path_factory.mktemp("shared") / "register"
    shutil.copytree(_filled_folder, folder)
    found = open_register(folder)
    yield Client(make_app(found))
    found.close()


@pytest.fixture
def looker(shared: Client) -> Client:
    """A client without cookies of the register that all share; it must change nothing."""
    return Client(shared.app)
