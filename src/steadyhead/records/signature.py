"""What each plausible cause would make the gauges of one step show: the signature of the step.

Everything in it is a number, a name or a text id, so that a device without a network can weigh it. Pressures
are as a gauge at that tap reads them. [Pa]
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from steadyhead.records.procedure import Message

AS_EXPECTED = "0"
"""Id of the healthy state: nothing is wrong."""
EACH = "each"
"""A slip that may have happened at any one tap, or at any one reading."""


@dataclass(frozen=True, slots=True)
class Curve:
    """Expected reading at one place over the flows of its state; one number each where no flow counts.

    value: the expected reading; supply, setting: what the day's supply pressure, and the standing of the
    pilots, add when they lie one standard deviation high; half: half width of what is left, one standard
    deviation. [SI of the quantity]
    """

    value: tuple[float, ...]
    supply: tuple[float, ...]
    setting: tuple[float, ...]
    half: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Axis:
    """Flows a state is worked out at, rising; empty where no flow counts. [m³/s]"""

    state: str
    flows: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Reads:
    """How one input of the step is read.

    Parameters
    ----------
    input
        Name inside the step.
    state, place
        Which curve it belongs to.
    flow
        Input that carries the flow at that time; empty: none is noted.
    usual
        Flow that is taken where none is given. [m³/s]
    choice
        It is so only where this choice took this option.
    """

    input: str
    state: str
    place: str
    flow: str = ""
    usual: float = 0.0
    choice: tuple[str, str] | None = None

    @property
    def key(self) -> str:
        """Key of its curve."""
        return f"{self.state}/{self.place}"


@dataclass(frozen=True, slots=True)
class Grade:
    """A cause at one severity.

    curves: by ``state/place``; a missing one is as the healthy one. most: the largest flow that can pass, by
    state; missing: no bound [m³/s]. factor, offset: of a slip: the gauge shows factor × true + offset.
    """

    curves: Mapping[str, Curve] = field(default_factory=dict)
    most: Mapping[str, float] = field(default_factory=dict)
    factor: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that could be so.

    Parameters
    ----------
    id
        Row of the fault matrix, a point, and what it is about: ``11.RV``, ``26.T3``.
    row
        Row of the fault matrix; 0: the healthy state.
    prior
        Weight before anything is read; own estimate.
    spans
        Pairs of grades; between the two of a pair every severity is possible.
    on
        Of a slip: the place whose gauge it is, or `EACH`; empty: no slip.
    name, tell, then
        In a few words; how to tell it apart; the safe next action.
    high
        The safe next action where a pressure stands above what a sound station shows: what protects comes
        first.
    """

    id: str
    row: int
    prior: float
    grades: tuple[Grade, ...]
    spans: tuple[tuple[int, int], ...]
    name: Message
    tell: Message
    then: Message
    on: str = ""
    high: Message | None = None


@dataclass(frozen=True, slots=True)
class Signature:
    """The causes of one step.

    healthy: curves of the station as it should be. causes: the first one is the healthy state. absent: rows
    of the fault matrix that no reading of this step shows, with the id of the reason.
    """

    step: str
    axes: tuple[Axis, ...]
    reads: tuple[Reads, ...]
    healthy: Mapping[str, Curve]
    causes: tuple[Cause, ...]
    absent: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Weighed:
    """A cause, weighed by what was read.

    Parameters
    ----------
    id
        Of the cause; empty: none of these fits.
    input
        Of a slip at any one reading: the place or input it would be at.
    share
        Of all weights 0…1.
    shown
        The share in tenths, as it may be shown.
    word
        ``likely``, ``possible``, ``less likely``, ``as expected`` or ``none fits``.
    misfit
        Largest distance of a reading from what the cause would show, in half widths.
    further
        How many causes fit as well and are not listed.
    """

    id: str
    input: str
    share: float
    shown: float
    word: str
    misfit: float
    further: int = 0


def curve_data(curve: Curve) -> list[list[float]]:
    """Return a curve as four rows, short numbers."""
    return [
        [_short(number) for number in row] for row in (curve.value, curve.supply, curve.setting, curve.half)
    ]


def _short(number: float) -> float:
    return float(f"{number:.5g}")


def curve_from(data: Any) -> Curve:
    """Return a curve from its rows."""
    value, supply, setting, half = (tuple(float(number) for number in row) for row in data)
    return Curve(value, supply, setting, half)
