"""A register with one station, embedded and on a server, and studies that take no time to be worked out."""

from __future__ import annotations

import pytest

from steadyhead.register import Register
from steadyhead.services.jobs import kinds
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.register.servers import both as register
from tests.services.jobs import tried_work

__all__ = ["register"]


@pytest.fixture
def station(register: Register) -> str:
    return save(register, read("dunmarrow-bottom"), "Ilse Marrow").key


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> tried_work.Told:
    """Have surge studies worked out by `tried_work`."""
    kind = kinds.Kind("surge", "surge study", "tests.services.jobs.tried_work:work")
    monkeypatch.setitem(kinds.KINDS, "surge", kind)
    return tried_work.anew()
