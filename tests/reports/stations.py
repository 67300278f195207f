"""The example stations of the product, as the papers' tests need them."""

from __future__ import annotations

from pathlib import Path

import steadyhead.station
from steadyhead.records.station import Station
from steadyhead.station.load import Loaded, load

EXAMPLES = Path(steadyhead.station.__file__).parent / "examples"
NAMES = ("quillenby-row", "dunmarrow-bottom", "sorrel-flat", "pinnock-yard")


def loaded(name: str) -> Loaded:
    return load((EXAMPLES / f"{name}.yaml").read_bytes(), name)


def station(example: str = "quillenby-row", **identity: object) -> Station:
    """An example station, with other words in its identity where asked."""
    found = loaded(example).station
    return found.model_copy(update={"station": found.station.model_copy(update=identity)})
