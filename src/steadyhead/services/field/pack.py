"""The field pack: all that a device takes along of a visit, so that it works in a chamber without a signal.

What hangs on the plan is worked out once and kept ready (`services.prepared`): its words by plan and units,
its signatures of causes by plan, station file and baseline. What is known today is looked up at each request.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import UTC, datetime
from functools import partial
from threading import Lock
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict
from sqlalchemy import Connection, select

from steadyhead.errors import InputError, NotConverged
from steadyhead.records.baseline import Baseline
from steadyhead.records.station import Station
from steadyhead.register import Register
from steadyhead.register.tables import blob, record, revision
from steadyhead.services.field.alike import Named
from steadyhead.services.field.base import base_of, base_words, plain_base
from steadyhead.services.field.bundling import build_digest
from steadyhead.services.field.device_words import advice_table, remark_table, unit_table
from steadyhead.services.field.gauge_dates import agreed, dated, proposed
from steadyhead.services.field.known import alike_here, cautions, described, left_last, photo_data, photo_of
from steadyhead.services.field.planned import cocks, steps, texts
from steadyhead.services.library import completed
from steadyhead.services.measured import read_baseline, with_measured
from steadyhead.services.plan_files import PlanFile, read_plan_file
from steadyhead.services.prepared import is_prepared, prepared
from steadyhead.services.stations.kept import head_in, station_row
from steadyhead.services.visits_kept.filing import filed
from steadyhead.services.visits_kept.plans import KIND_WORDS
from steadyhead.services.visits_kept.run_rows import Run, files_of, one_run
from steadyhead.services.visits_kept.standing import Standing, of_certificates, standing
from steadyhead.station.canonical import canonical
from steadyhead.station.code import code_words, station_code
from steadyhead.station.load import load
from steadyhead.units import METRIC, UnitSet
from steadyhead.visits.signatures.base import Base

_ONE = Lock()
"""Who works out causes; somebody else who asks meanwhile waits, and then finds them worked out."""
FORMAT: Literal["steadyhead/field-pack/1"] = "steadyhead/field-pack/1"
NO_PROOF = "no proof of it stands"
NO_FILE = "The station file this plan was made for is not kept here: the device tells no causes."
NO_CAUSE = (
    "No reading is expected at this step, so nothing in this station's model explains one. Read again; where "
    "it is still not what you look for, stop and back out."
)
_READ = ("pressure", "time", "flow", "turns", "length")
NO_BASELINE = "The baseline this plan was made with is not kept here: the device tells no causes."
NOT_WORKED_OUT = "The causes behind readings cannot be worked out for this plan: {why}"


class Packed(BaseModel):
    """Base of what stands in a pack."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class AlikeStation(Packed):
    """A station whose name may be taken for this one's, and why."""

    id: str
    name: str
    place: str
    why: str


class PackedStation(Packed):
    """Which station it is.

    place: how to find the lid; latitude, longitude: WGS 84, degrees; photo, photo_at, photo_data: digest,
    address and data address of the newest photo; code: what the square code of card and plans holds, and
    ``code_words``: the same to be compared by eye; control_room:
    desk to call.
    """

    key: str
    id: str
    name: str
    place: str
    latitude: float | None
    longitude: float | None
    photo: str
    photo_at: str
    photo_data: str
    code: str
    code_words: str
    control_room: str
    alike: tuple[AlikeStation, ...]


class PackedPlan(Packed):
    """The plan, byte for byte; sha256: of its second line; made: when the plan was kept or the run begun.

    kind, words: for which visit, as a name and in words.
    """

    text: str
    sha256: str
    kind: str
    words: str
    made: str


class Cock(Packed):
    """A valve, drain or cock in walking order.

    words: what it is called; should: how it is to stand; says: what may be said of it then.
    """

    part: str
    words: str
    should: str
    says: tuple[str, ...]


class PlaceHazard(Packed):
    """A hazard of the place, with the usual caution."""

    tag: str
    words: str


class FileGauge(Packed):
    """A gauge of the station file, as known now: top of its range [Pa], day it is due; empty: not stated.

    What an entry describes counts; where the file says otherwise, the device tells both.
    """

    name: str
    high: float
    due: str


class LeftValue(Packed):
    """A value as it was left last; on: day; run: visit of the certificate.

    value_si, flow_si, quantity: the figure itself, the flow it was read at [m³/s], its kind.
    stands: of a trip that no longer stands proved, or is due, why, in words; empty: it stands.
    """

    key: str
    what: str
    value: str
    value_si: float
    flow_si: float | None
    quantity: str
    tap: str
    on: str
    run: str
    certificate: str
    stands: str = ""


class FieldPack(Packed):
    """All that a device takes along of a visit.

    units, remarks, advice: tables of `device_words`; texts: words of each message of the plan by its key;
    steps: how values are typed; causes: signature of each step that has one, and `causes_lack`: why there
    are none, in words; causes_base: what their readings start from, causes_none: steps at which no
    reading is explained, and what is done then; hazards: of the place, by its file;
    instruments, people: of earlier visits here, SI; gauges of the station file too, as ``of_file``;
    gauges: those of the station file, with range and day as they are known now;
    entries: lines the register holds; build: digest of script and pictures.
    """

    format: Literal["steadyhead/field-pack/1"] = FORMAT
    run: str
    station: PackedStation
    plan: PackedPlan
    units: dict[str, Any]
    texts: dict[str, str]
    steps: dict[str, Any]
    remarks: dict[str, Any]
    advice: dict[str, Any]
    causes: dict[str, Any]
    causes_lack: str
    causes_base: str
    causes_none: dict[str, str]
    as_left: tuple[LeftValue, ...]
    hazards: tuple[PlaceHazard, ...]
    cocks: tuple[Cock, ...]
    instruments: tuple[dict[str, Any], ...]
    gauges: tuple[FileGauge, ...]
    people: tuple[dict[str, Any], ...]
    entries: tuple[str, ...]
    build: str


def field_pack(register: Register, key: str, run: str, units: UnitSet = METRIC) -> FieldPack:
    """Return the field pack of a visit in the reader's units.

    Raises
    ------
    NotKept
        No such station or visit.
    InputError
        The visit was left off.
    """
    with register.reading() as connection:
        of = one_run(connection, key, run)
        if of.left:
            raise InputError("run", f"was left off: {of.left[:80]}", "Begin another visit.")
        content, entries = files_of(connection, of)
        head = head_in(connection, key)
        place = station_row(connection, key).place
        instruments, people = described(connection, key)
        left = _with_standing(connection, register, key, left_last(connection, key, units))
        made = _made(connection, of)
    plan = read_plan_file(content)
    ready = dict(_said(register, key, plan, units))
    causes = _causes(register, key, run, plan)
    station = completed(load(head.source, key)).station
    gauges, instruments = agreed(station.gauges, instruments)
    ready["texts"] |= dated(plan.procedure, gauges, units, datetime.now(UTC).date())
    with register.reading() as connection:
        told = _station(connection, key, station, place)
    return FieldPack(
        run=run,
        station=told,
        plan=PackedPlan(
            text=content.decode(),
            sha256=plan.sha256,
            kind=plan.procedure.kind,
            words=KIND_WORDS.get(plan.procedure.kind, plan.procedure.kind),
            made=made,
        ),
        units=unit_table(units),
        remarks=remark_table(),
        advice=advice_table(),
        causes=causes["causes"],
        causes_lack=causes["lack"],
        causes_base=causes.get("base", ""),
        causes_none=_unexplained(plan, causes["causes"]),
        as_left=tuple(LeftValue(**one) for one in left),
        hazards=tuple(PlaceHazard(tag=tag, words=words) for tag, words in cautions(station.station.hazards)),
        instruments=(*instruments, *proposed(station.gauges, instruments)),
        gauges=tuple(FileGauge(**one) for one in gauges),
        people=tuple(people),
        entries=tuple(line for line in entries.decode().split("\n")[1:] if line),
        build=build_digest(),
        **ready,
    )


def _with_standing(
    connection: Connection, register: Register, key: str, left: list[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Return the values left last; a trip whose proof does not stand today says so."""
    if not any(one["key"].endswith(".trip") for one in left):
        return left
    now = standing(connection, register, key, datetime.now(UTC).date(), keep=False)
    if now.state == "open":  # this very visit is under way: what stood before it counts
        now = of_certificates(connection, key, datetime.now(UTC).date()) or Standing("none", NO_PROOF)
    words = "" if now.state == "stands" else now.words
    return [{**one, "stands": words if one["key"].endswith(".trip") else ""} for one in left]


WORDS, CAUSES = "field words", "field causes"


def is_ready(register: Register, key: str, run: str, units: UnitSet = METRIC) -> bool:
    """Return whether the pack of a visit can be given at once: what takes long was worked out before.

    Raises
    ------
    NotKept
        No such station or visit.
    """
    plan = _plan(register, key, run)
    if not is_prepared(register, WORDS, _words_parts(plan, units)):
        return False
    wanted = plan.procedure.baseline_id
    with register.reading() as connection:
        has_file = _file(connection, plan.procedure.station_hash) is not None
        has_baseline = not wanted or _baseline(connection, key, wanted) is not None
        base = base_of(connection, key, run, plan.procedure)
    return not (has_file and has_baseline) or is_prepared(register, CAUSES, _causes_parts(plan, base))


def make_words_ready(register: Register, key: str, run: str, units: UnitSet = METRIC) -> None:
    """Work out what is said of the plan of a visit, the quick part of its pack."""
    _said(register, key, _plan(register, key, run), units)


def _plan(register: Register, key: str, run: str) -> PlanFile:
    with register.reading() as connection:
        return read_plan_file(files_of(connection, one_run(connection, key, run))[0])


def _words_parts(plan: PlanFile, units: UnitSet) -> dict[str, str]:
    return {"plan": plan.sha256, "units": canonical(asdict(units)).decode()}


def _causes_parts(plan: PlanFile, base: Base) -> dict[str, str]:
    told = plan.procedure
    left = canonical(plain_base(base)).decode()
    return {"plan": plan.sha256, "file": told.station_hash, "baseline": told.baseline_id, "left": left}


def _made(connection: Connection, of: Run) -> str:
    """Return when the plan was kept; when the run was begun, where it came with it."""
    found = connection.execute(select(record.c.at).where(record.c.id == of.plan_record)).scalar()
    return str(found or of.at)


def _said(register: Register, key: str, plan: PlanFile, units: UnitSet) -> Mapping[str, Any]:
    """Return what is said of a plan in the reader's units."""

    def make() -> bytes:
        procedure = plan.procedure
        return canonical(
            {
                "texts": texts(procedure, units),
                "steps": steps(procedure, units),
                "cocks": cocks(procedure, units),
            }
        )

    found: dict[str, Any] = json.loads(prepared(register, key, WORDS, _words_parts(plan, units), make))
    return found


def _causes(register: Register, key: str, run: str, plan: PlanFile) -> dict[str, Any]:
    """Return the signatures of a plan, or why there are none."""
    procedure = plan.procedure
    with register.reading() as connection:
        source = _file(connection, procedure.station_hash)
        baseline = _baseline(connection, key, procedure.baseline_id) if procedure.baseline_id else None
        base = base_of(connection, key, run, procedure)
    if source is None:
        return {"causes": {}, "lack": NO_FILE}
    if procedure.baseline_id and baseline is None:
        return {"causes": {}, "lack": NO_BASELINE}
    make, parts = partial(_signatures, source, plan, baseline, base), _causes_parts(plan, base)
    if is_prepared(register, CAUSES, parts):
        content = prepared(register, key, CAUSES, parts, make)
    else:
        with _ONE:
            content = prepared(register, key, CAUSES, parts, make)
    found: dict[str, Any] = json.loads(content)
    return {**found, "base": base_words(base, baseline)} if found["causes"] else found


def _signatures(source: bytes, plan: PlanFile, baseline: Baseline | None, base: Base) -> bytes:
    from steadyhead.visits.feasibility import Refused
    from steadyhead.visits.signatures import plain_signature, signatures

    procedure = plan.procedure
    try:
        station = with_measured(completed(load(source, procedure.station_id)), baseline).station
        told = signatures(station, procedure.kind, procedure.item, procedure=procedure, base=base)
    except (InputError, NotConverged, Refused) as problem:
        return canonical({"causes": {}, "lack": NOT_WORKED_OUT.format(why=str(problem)[:200])})
    return canonical({"causes": {step: plain_signature(one) for step, one in told.items()}, "lack": ""})


def _unexplained(plan: PlanFile, causes: Mapping[str, Any]) -> dict[str, str]:
    """Return the steps at which something is read and no cause is told, each with what is done then."""
    if not causes:
        return {}
    return {
        node.id: NO_CAUSE
        for node in plan.procedure.nodes
        if node.id not in causes and any(one.quantity in _READ for one in node.inputs)
    }


def _file(connection: Connection, digest: str) -> bytes | None:
    """Return the bytes of a station file the register keeps as a revision."""
    query = select(blob.c.bytes).join(revision, revision.c.file == blob.c.hash).where(blob.c.hash == digest)
    found = connection.execute(query.limit(1)).scalar()
    return None if found is None else bytes(found)


def _baseline(connection: Connection, key: str, wanted: str) -> Baseline | None:
    """Return the baseline of a station by its id."""
    for one in filed(connection, key, ("baseline",)):
        content = connection.execute(select(blob.c.bytes).where(blob.c.hash == one.digest)).scalar_one()
        found = read_baseline(bytes(content), one.title)
        if found.id == wanted:
            return found
    return None


def _station(connection: Connection, key: str, station: Station, place: str) -> PackedStation:
    identity = station.station
    photo = photo_of(connection, key)
    at = identity.coordinates
    return PackedStation(
        key=key,
        id=identity.id,
        name=identity.name,
        place=identity.directions or place,
        latitude=at.latitude if at is not None else None,
        longitude=at.longitude if at is not None else None,
        photo=photo.digest if photo is not None else "",
        photo_at=f"/stations/{key}/records/{photo.id}?as=picture" if photo is not None else "",
        photo_data=photo_data(connection, photo) if photo is not None else "",
        code=station_code(identity.id, identity.name),
        code_words=code_words(identity.id, identity.name),
        control_room=identity.control_room,
        alike=tuple(
            AlikeStation(id=one.station.id, name=one.station.name, place=one.station.place, why=one.why)
            for one in alike_here(connection, Named(key, identity.id, identity.name))
        ),
    )
