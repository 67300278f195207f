"""The example stations of the product, as the papers' tests need them."""

from __future__ import annotations

from pathlib import Path

import steadyhead.station
from steadyhead.records.parts import Branch, FlowMeter, IsolatingValve, Parallel, Vent
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


def with_bypass(about: Station) -> Station:
    """The first example with a manual bypass around its reducer, a vent and a flow meter."""
    place = next(n for n, part in enumerate(about.line) if part.id == "T2")
    inlet = about.line[1]
    assert isinstance(inlet, IsolatingValve)
    group = Parallel(
        part="parallel",
        id="P",
        branches=(
            Branch(id="main", role="main", line=about.line[place + 1 : place + 2]),
            Branch(
                id="BY", role="manual bypass", line=(inlet.model_copy(update={"id": "BV"}),), locked_shut=True
            ),
        ),
    )
    extra = (Vent(part="vent", id="AV"), FlowMeter(part="flow_meter", id="FM", size=inlet.size))
    line = (about.line[0], *extra, *about.line[1 : place + 1], group, *about.line[place + 2 :])
    return about.model_copy(update={"line": line})
