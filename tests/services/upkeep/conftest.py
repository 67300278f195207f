"""A register with two stations in service since 2020, copied for each test; a clock that stands."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from steadyhead.register import Register, open_register
from steadyhead.services.stations.saving import save
from steadyhead.services.upkeep import doings
from steadyhead.station.examples import read
from tests.services.upkeep.times import CLOCK, LONE, PAIR, WHO


@pytest.fixture(scope="session")
def _upkeep_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("upkeep") / "register"
    found = open_register(folder)
    for name, key in (("quillenby-row", LONE), ("veldany-house", PAIR)):
        assert save(found, read(name), WHO, "an example").key == key
        doings.into_service(found, key, WHO, on="2020-05-04", clock=CLOCK)
    found.close()
    return folder


@pytest.fixture
def register(tmp_path: Path, _upkeep_folder: Path) -> Iterator[Register]:
    """Two stations in service since 4 May 2020."""
    folder = tmp_path / "register"
    shutil.copytree(_upkeep_folder, folder)
    found = open_register(folder)
    yield found
    found.close()
