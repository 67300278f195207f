"""The record of a certificate: what was read, proved, touched and left at one run. SI, as plain data.

It follows from plan, entries, station file and release alone; nothing in it comes from the clock of
the machine that writes it. Words are in the units of the reader it was made for; every number beside them
is SI.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from steadyhead.records.certificate_papers import (
    Against,
    Amended,
    ChainHead,
    Changed,
    Deviation,
    Earlier,
    Failure,
    Instrument,
    Noted,
    Person,
    PerTurn,
    Proof,
    Replaces,
    Restored,
    Row,
    Signature,
    Touched,
)

__all__ = [
    "FORMAT",
    "Against",
    "AlarmProof",
    "Amended",
    "Certificate",
    "ChainHead",
    "Changed",
    "Design",
    "Deviation",
    "Earlier",
    "Failure",
    "FlowPoint",
    "FlowTest",
    "Instrument",
    "LockupTest",
    "Noted",
    "PerTurn",
    "Person",
    "Proof",
    "Replaces",
    "Restored",
    "Row",
    "Setting",
    "Signature",
    "Standing",
    "TestLine",
    "TestStep",
    "Touched",
    "TripProof",
    "TripRun",
]

FORMAT = "steadyhead/certificate/1"

Standing = Literal["final", "provisional"]


@dataclass(frozen=True, slots=True)
class TestLine:
    """One reading of a step: what was asked, expected and observed.

    answer: the one that lets the step stand; None: either does, or it is no question. result: pass, fail,
    noted, not noted. again: how many failed readings stand before the one that counts.
    """

    __test__ = False

    input: str
    words: str
    quantity: str
    low: float | None
    high: float | None
    noted: Noted | None
    result: str
    answer: bool | None = None
    again: int = 0


@dataclass(frozen=True, slots=True)
class TestStep:
    """One step of the plan: where it stands and why, when it was done, and its readings."""

    __test__ = False

    step: str
    title: str
    state: str
    because: str
    at: str
    lines: tuple[TestLine, ...]


@dataclass(frozen=True, slots=True)
class TripRun:
    """One rising run: the shut-off acted between the last hold and the reading at the act. [SI]

    inlet, between, outlet, flow: as the stroke began; after: outlet once it stood shut.
    """

    number: int
    step: str
    last_hold: Noted | None
    act: Noted | None
    peak: Noted | None
    closing: Noted | None
    inlet: Noted | None
    between: Noted | None
    outlet: Noted | None
    flow: Noted | None
    after: Noted | None
    flow_after: Noted | None
    as_found: bool
    inside: bool | None

    @property
    def middle(self) -> float | None:
        """Middle of the interval in which it acted. [Pa]"""
        low, high = (None if one is None else one.value for one in (self.last_hold, self.act))
        if isinstance(low, float) and isinstance(high, float):
            return (low + high) / 2
        return high if isinstance(high, float) else None


@dataclass(frozen=True, slots=True)
class TripProof:
    """The proof of one valve that shuts or lifts at a pressure.

    Parameters
    ----------
    valve, tap, what
        Which; ``shut-off`` or ``relief``.
    low, high, trip
        Band that is accepted, and the trip of the design, as the gauge at the tap reads. [Pa]
    window
        Closing times that are accepted. [s]
    step, reset
        Step of the rise; pressure at which it was reset. [Pa]
    method, coverage
        Raised on the line, or by a pump; what that covers.
    state, because, at
        Where it stands, why not, and when it was gained.
    """

    valve: str
    tap: str
    what: str
    low: float | None
    high: float | None
    trip: float | None
    window: tuple[float | None, float | None]
    runs: tuple[TripRun, ...]
    step: Noted | None
    reset: Noted | None
    method: str
    coverage: str
    state: str
    because: str
    at: str


@dataclass(frozen=True, slots=True)
class AlarmProof:
    """From movement to the desk: times at both ends, delay [s], words seen, who entered it.

    words: as the desk has them on its screen, else notes of the step; operator: who read them there.
    """

    name: str
    here: str
    there: str
    delay: float | None
    right: bool | None
    words: str
    who: str
    state: str
    because: str
    operator: str = ""


@dataclass(frozen=True, slots=True)
class LockupTest:
    """Outlet against time at no flow: readings in order, flow and wall temperatures beside them.

    rise: last less first reading; lockup: the last, None where the test proves none. [Pa]
    """

    valve: str
    points: tuple[Noted, ...]
    walls: tuple[Noted, ...]
    flow: float | None
    rise: float | None
    lockup: float | None
    expected: tuple[float | None, float | None]
    state: str
    because: str


@dataclass(frozen=True, slots=True)
class FlowPoint:
    """One point of the flow test. flow: [m³/s], readings by tap: [Pa]"""

    number: int
    rising: bool
    flow: float
    readings: dict[str, float]
    at: str


@dataclass(frozen=True, slots=True)
class FlowTest:
    """Outlet and losses against flow.

    droop_up, droop_down: outlet at the least flow less that at the most. [Pa] k_strainer, k_shut_off: loss
    over flow squared, offset between the gauges taken out. [Pa/(m³/s)²]
    """

    stream: str
    tap: str
    points: tuple[FlowPoint, ...]
    droop_up: float | None
    droop_down: float | None
    k_strainer: float | None
    k_shut_off: float | None
    swing: str
    state: str
    because: str


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting or figure of the station: design, as found, as left, and whether that is proved.

    Parameters
    ----------
    key
        Valve and what of it, as ``SO.trip``.
    what, tap, quantity
        In words, where, of which kind.
    design
        As the plan has it, read at the tap. [SI]
    as_found, as_left
        As noted; None: not known.
    runs
        What proved it, where several readings did.
    height
        Screw height as left. [m]
    state, because
        Where its proof stands, and why it does not.
    design_flow
        Flow the design figure is meant at; None: it belongs to none. [m³/s]
    """

    key: str
    what: str
    tap: str
    quantity: str
    design: float | None
    as_found: Noted | None
    as_left: Noted | None
    runs: tuple[float, ...]
    height: Noted | None
    state: str
    because: str
    design_flow: float | None = None


@dataclass(frozen=True, slots=True)
class Design:
    """The design the run was held against; rows are in words.

    by_proof: whether the credited peaks are those of the protection proof; else of the lumped zone.
    """

    revision: str
    released_by: str
    released_at: str
    release_sha256: str
    rungs: tuple[tuple[str, float], ...]
    normal_limit: tuple[float | None, str]
    fault_limit: tuple[float | None, str]
    credited: tuple[str, ...]
    not_covered: tuple[str, ...]
    flows: tuple[Row, ...]
    inlet: tuple[Row, ...]
    by_proof: bool = False


@dataclass(frozen=True, slots=True)
class Certificate:
    """Everything a certificate says.

    chain: last link of the register's audit chain when it was made; None where there was no register.
    """

    number: str
    revision: int
    standing: Standing
    station_id: str
    station_name: str
    datum: float
    datum_text: str
    identity: tuple[Row, ...]
    kind: str
    item: str
    purpose: str
    plan_id: str
    plan_sha256: str
    station_sha256: str
    engine_version: str
    words_in: str
    begun: str
    ended: str
    signed_at: str
    day: str
    design: Design | None
    equipment: tuple[tuple[str, tuple[Row, ...]], ...]
    per_turn: tuple[PerTurn, ...]
    instruments: tuple[Instrument, ...]
    people: tuple[Person, ...]
    conditions: tuple[Row, ...]
    as_found: tuple[tuple[str, Noted], ...]
    positions_found: tuple[Row, ...]
    positions_left: tuple[Row, ...]
    tests: tuple[TestStep, ...]
    trips: tuple[TripProof, ...]
    alarms: tuple[AlarmProof, ...]
    lockups: tuple[LockupTest, ...]
    flows: tuple[FlowTest, ...]
    settings: tuple[Setting, ...]
    seals: tuple[Row, ...]
    touched: tuple[Touched, ...]
    changed: tuple[Changed, ...]
    failures: tuple[Failure, ...]
    earlier: tuple[Earlier, ...]
    proofs: tuple[Proof, ...]
    restored: tuple[Restored, ...]
    against: tuple[Against, ...]
    told: tuple[str, ...]
    deviations: tuple[Deviation, ...]
    amended: tuple[Amended, ...]
    notes: tuple[tuple[str, str, str], ...]
    photos: tuple[tuple[str, str, str], ...]
    signatures: tuple[Signature, ...]
    statement: tuple[str, ...]
    entries: int
    entries_sha256: str
    last_entry: str
    replaces: Replaces | None = None
    chain: ChainHead | None = None
    format: str = field(default=FORMAT)

    def setting(self, key: str) -> Setting | None:
        """Return one setting by key; None where this run has none of that kind."""
        return next((one for one in self.settings if one.key == key), None)
