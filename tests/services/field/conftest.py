"""One visit under way, made once; each test gets a copy of its register."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from steadyhead.register import open_register
from steadyhead.services.plan_files import read_plan_file
from tests.services.field.light import Visit, begun, planned

COUNT = 40
"""Entries that are here before a device comes."""


@pytest.fixture(scope="session")
def _begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("begun") / "register"
    begun(folder, COUNT).register.close()
    return folder


@pytest.fixture
def visit(tmp_path: Path, _begun: Path) -> Iterator[Visit]:
    """A copy of the visit, free to be written to."""
    shutil.copytree(_begun, tmp_path / "register")
    content, entries = planned()
    register = open_register(tmp_path / "register")
    yield Visit(register, read_plan_file(content), content, list(entries))
    register.close()
