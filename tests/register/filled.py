"""A small register with something in every table that is kept, put in without judging anything."""

from __future__ import annotations

import atexit
import base64
import json
import shutil
import tempfile
from functools import cache
from typing import Any

from sqlalchemy import insert, update

from steadyhead.register import Register, tables
from steadyhead.register.logs import logs_folder
from steadyhead.register.logs.layout import write_durably
from steadyhead.station.canonical import canonical, sha256
from steadyhead.station.examples import read
from steadyhead.station.load import Loaded, load

WHO = "Ilse Marrow"
PLACED, UNPLACED = "DMB-01", "FWG-03"
PDF = b"%PDF-1.7 not a real one\n%%EOF\n"


@cache
def _loaded(name: str) -> Loaded:
    return load(read(name))


def fill(register: Register) -> None:
    """Put two stations in, one with coordinates, and something of every kind."""
    _stations(register)
    with register.writing(WHO, "2027-04-02T08:00:00.000Z") as writing:
        release = _release(read("dunmarrow-bottom"))
        row = {"station": PLACED, "number": 1, "revision": 1, "record": writing.blob(release)}
        writing.add(tables.released, row | {"at": writing.at, "who": WHO}, "design released", PLACED)
        names = (
            "certificate.pdf",
            "Certificate.pdf",
            "../../escape.pdf",
            "=cmd|' /C calc'!A0.txt",
            "plan: α.pdf",
        )
        for at, name in enumerate(names):
            row = {
                "id": f"rec-{at}", "station": PLACED, "kind": "document", "name": name, "title": f"=1+{at}",
                "media": "application/pdf", "content": writing.blob(PDF + bytes([48 + at])),
                "at": writing.at, "who": WHO, "about": "{}",
            }  # fmt: skip
            writing.add(tables.record, row, "document kept", PLACED)
        _run(writing)
        writing.blob(b"result of a study that no row names")
    _upkeep(register)
    _logger(register)


def _stations(register: Register) -> None:
    for key, name in ((PLACED, "dunmarrow-bottom"), (UNPLACED, "fenwarren-gate")):
        loaded, source = _loaded(name), read(name)
        with register.writing(WHO, "2027-04-01T08:00:00.000Z") as writing:
            station = {"key": key, "name": loaded.station.station.name, "head": 2, "made_at": writing.at,
                       "made_by": WHO, "worst": "-trip not proved", "search": key.casefold()}  # fmt: skip
            writing.connection.execute(insert(tables.station).values(station))
            writing.connection.execute(insert(tables.gist).values(station=key, body='{"mark":"holds"}'))
            for number, content in ((1, source), (2, source + b"# looked at again\n")):
                row = {
                    "station": key, "number": number, "file": writing.blob(content), "at": writing.at,
                    "canonical": writing.blob(loaded.canonical), "based_on": number - 1, "who": WHO,
                    "why": "ünïcode,\n\"quoted\"",
                }  # fmt: skip
                writing.add(tables.revision, row, "station saved", key, revision=number)


def _release(source: bytes) -> bytes:
    file = {"encoding": "base64", "content": base64.b64encode(source).decode(), "sha256": sha256(source)}
    told = {"format": "steadyhead/release/1", "revision": 1, "released_by": WHO, "released_at": "2027-04-02",
            "file": file}  # fmt: skip
    return canonical(told)


def _run(writing) -> None:
    row = {
        "id": "run-1", "station": PLACED, "kind": "yearly", "title": "Yearly", "plan": writing.blob(b"plan"),
        "plan_name": "yearly.plan", "at": writing.at, "who": WHO,
    }  # fmt: skip
    writing.add(tables.run, row, "visit begun", PLACED)
    for seq in range(1, 4):
        line = json.dumps({"id": f"e{seq}", "value": -1.5 * seq})
        row = {"run": "run-1", "seq": seq, "entry_id": f"e{seq}", "line": line, "at": writing.at}
        writing.add(tables.entry, row, "entry", PLACED)


def _upkeep(register: Register) -> None:
    with register.writing("Bo", "2027-04-03T08:00:00.000Z") as writing:
        common = {"at": writing.at, "who": "Bo"}
        writing.add(tables.piece, {"id": "p1", "kind": "pilot", "serial": "+49", **common}, "piece", "p1")
        row = {"id": "f1", "station": PLACED, "place": "SO", "piece": "p1", "on": "2027-04-03", "what": "in"}
        writing.add(tables.fitting, row | common, "piece put in", PLACED)
        row = {"id": "d1", "station": PLACED, "activity": "strainer", "what": "done", "on": "2027-04-03",
               "reason": "@SUM(A1)"}  # fmt: skip
        writing.add(tables.doing, row | common, "upkeep done", PLACED)
        habit: dict[str, Any] = {
            "id": "h1",
            "station": PLACED,
            "activity": "strainer",
            "months": 7.5,
            "reason": "sand",
        }
        writing.add(tables.habit, habit | common, "interval set", PLACED)
        writing.add(
            tables.mapping, {"id": "m1", "name": "ours", "body": "{}", **common}, "mapping kept", "ours"
        )
        row = {"id": "l1", "station": UNPLACED, "what": "off", "reason": "rebuilt"}
        writing.add(tables.listing, row | common, "station off the list", UNPLACED)
        writing.connection.execute(
            update(tables.station).where(tables.station.c.key == UNPLACED).values(struck="rebuilt")
        )
        due = {"station": PLACED, "place": "ST", "activity": "strainer", "on": "2027-11-03", "body": "{}"}
        writing.connection.execute(insert(tables.due).values(due))
        secret = {
            "id": "a1",
            "name": "Bo",
            "role": "look",
            "state": "invited",
            "secret": "argon2 secret",
            "at": writing.at,
        }
        writing.connection.execute(insert(tables.account).values(secret))
        writing.tell("person added", "a1", name="Bo", role="look")
        writing.connection.execute(insert(tables.setting).values(name="session key", value="very secret"))


def _some_folder() -> str:
    folder = tempfile.mkdtemp(prefix="steadyhead-logs-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _logger(register: Register) -> None:
    """Put an import of logger data in that was undone: rows, and its file as it was given."""
    logs = logs_folder(register, "" if register.folder else _some_folder())
    write_durably(logs.raw_file(sha256(b"t")), b"t")
    with register.writing("Bo", "2027-04-04T08:00:00.000Z") as writing:
        manifest = writing.blob(b'{"format":"steadyhead/logger import/1"}')
        row = {"number": 1, "token": "0123456789ab", "station": PLACED, "source": "=kiosk",
               "manifest": manifest,
               "begins": "2027-03-01T00:00:00.000Z", "ends": "2027-03-02T00:00:00.000Z"}  # fmt: skip
        common = {"at": writing.at, "who": "Bo"}
        writing.add(tables.logger_import, row | common, "logger data taken in", PLACED)
        row = {"number": 1, "place": 0, "sha256": sha256(b"t"), "name": "a.csv", "size": 1}
        writing.add(tables.logger_file, row, "logger file kept", PLACED)
        row = {"number": 1, "station": PLACED, "source": "=kiosk", "body": "{}"}
        writing.add(tables.logger_profile, row | common, "way of reading kept", PLACED)
        row = {"number": 1, "reason": "wrong station"}
        writing.add(tables.logger_undo, row | common, "logger data undone", PLACED)
