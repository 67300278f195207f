"""A register with two example stations, and its folder of logger data."""

from __future__ import annotations

import pytest

from steadyhead.register.logs import logs_folder
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.register.servers import register

__all__ = ["logs", "register"]


@pytest.fixture
def logs(register):
    save(register, read("dunmarrow-bottom"), "Ilse Marrow")
    save(register, read("fenwarren-gate"), "Ilse Marrow")
    return logs_folder(register)
