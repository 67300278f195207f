"""Deeds of the example year, each done as people of the register do them: through the same services."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.services.example_year.clean_visit import clean_visit
from steadyhead.services.example_year.device import Device
from steadyhead.services.example_year.story_time import Days, StoryRegister
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.stations.releasing import release
from steadyhead.services.stations.saving import save
from steadyhead.services.upkeep import doings, pieces
from steadyhead.services.visits_kept import baselines, certificates, documents, plans, runs, trips
from steadyhead.station.canonical import sha256
from steadyhead.station.examples import read

ENGINEER, TECHNICIAN, DESK = "Ilse Marrow", "Tam Oduya", "Brae desk"
TEAM = ((ENGINEER, "engineer"), (TECHNICIAN, "technician"))
RESTART = {"R1": "real", "R6": "to be tested", "R8": "trip proved"}
"""Way of a restart after a real trip, the trip proved again."""


@dataclass
class Teller:
    """Does what the stories tell, and remembers the last file of each station.

    Parameters
    ----------
    register, days
        Where it is kept, and how days are counted.
    files
        Station files by key, as last saved.
    """

    register: StoryRegister
    days: Days
    files: dict[str, bytes] = field(default_factory=dict)

    def added(self, days: int, example: str, why: str) -> str:
        """Keep an example as a new station; return its key."""
        source = read(example)
        self._now(days, 9)
        key = save(self.register, source, ENGINEER, why, day=self.days.before(days)).key
        self.files[key] = source
        return key

    def changed(self, days: int, key: str, was: str, now: str, why: str) -> None:
        """Save the next revision of a station file, one text of it replaced."""
        source = self.files[key].replace(was.encode(), now.encode(), 1)
        assert source != self.files[key], (key, was)
        self._now(days, 10)
        save(self.register, source, ENGINEER, why, None, key, self.days.before(days))
        self.files[key] = source

    def noted(self, days: int, key: str, words: str, why: str) -> None:
        """Save the next revision with a remark at its end: no value of it changes."""
        self._now(days, 11)
        source = self.files[key].rstrip() + f"\n# {words}\n".encode()
        save(self.register, source, ENGINEER, why, None, key, self.days.before(days))
        self.files[key] = source

    def released(self, days: int, key: str) -> None:
        """Release the last revision without a protection proof."""
        self._now(days, 12)
        release(self.register, key, ENGINEER, without_proof=True, clock=self.days.clock(days, 12))

    def visited(
        self,
        days: int,
        key: str,
        visit: str,
        *,
        way: Mapping[str, str] | None = None,
        purpose: str = "",
        signs: bool = True,
        share: float = 1.0,
        more: Sequence[tuple[str, Mapping[str, Any]]] = (),
        with_paper: bool = False,
        item: str = "",
        ahead: int = 2,
    ) -> str:
        """Plan a visit, go through it clean, take its entries in; certify it where it is signed.

        Returns the id of the run.

        Parameters
        ----------
        days
            Day of the visit.
        way
            Options taken; the first of each choice where left out.
        signs, share
            Whether it is signed, and how much of it is done.
        more
            Entries made at its end: kind and payload.
        with_paper
            Keep the plan as a paper too.
        item, ahead
            Of the plan; how many days before the visit it is made.
        """
        self._now(days + ahead, 14 if ahead else 6)
        made = plans.make(
            self.register,
            key,
            visit,
            item,
            ENGINEER,
            day=self.days.before(days + ahead),
            with_paper=with_paper,
        )
        content = plans.plan_content(self.register, key, made.record.id)[1]
        stored = read_plan_file(content)
        taken = way or {choice.id: choice.options[0][0] for choice in stored.procedure.choices}
        entries = self._entries(days, key, stored.procedure, stored.sha256, taken, purpose)
        entries, device = entries[: max(1, round(len(entries) * share))], self._tablet(days, key, visit)
        device.number, device.clock = entries[-1].device_seq, entries[-1].clock
        entries += [device.make(kind, payload) for kind, payload in more]
        if signs:
            entries.append(
                device.make(
                    "sign",
                    {
                        "asks": "final",
                        "statement": "tested as listed",
                    },
                )
            )
        self._now(days, 17)
        run = runs.begin_from(self.register, key, dump(entries), TECHNICIAN, day=self.days.before(days)).run
        if signs:
            self._now(days, 18)
            certificates.certify(self.register, key, run, ENGINEER, day=self.days.before(days))
        return run

    def _tablet(self, days: int, key: str, visit: str) -> Device:
        run = f"{key.lower()}-{visit}-{self.days.before(days).isoformat()}"
        return Device("tab-1", run, TECHNICIAN, self.days.on_site(days))

    def _entries(
        self, days: int, key: str, plan: Procedure, digest: str, way: Mapping[str, str], purpose: str
    ) -> list[Entry]:
        device = self._tablet(days, key, plan.kind.replace("_", "-"))
        return clean_visit(plan, way, device, TEAM, plan=digest, purpose=purpose)

    def fitted(self, days: int, key: str, run: str, *, chosen: bool = True) -> None:
        """Fit the twin to a run, and let it go by that."""
        self._now(days, 18, 30)
        found = baselines.fit(self.register, key, run, ENGINEER, day=self.days.before(days))
        if found is not None and chosen:
            baselines.choose_for_twin(self.register, key, found.id, ENGINEER, day=self.days.before(days))

    def tripped(self, days: int, key: str, hour: int, minute: int, valve: str, words: str) -> None:
        """Report a trip."""
        self._now(days, hour, minute)
        since = self.days.on_site(days, hour, minute).isoformat(timespec="minutes")
        trips.report_trip(
            self.register,
            key,
            since,
            DESK,
            valve=valve,
            known_by="switch",
            words=words,
            day=self.days.before(days),
        )

    def laid(self, days: int, key: str, name: str, content: bytes, title: str, kind: str = "document") -> str:
        """Lay a document beside a station; return its id."""
        self._now(days, 16)
        return documents.take_document(
            self.register, key, name, content, TECHNICIAN, title=title, kind=kind, day=self.days.before(days)
        ).id

    def struck(self, days: int, key: str, record: str, reason: str) -> None:
        """Strike a record out."""
        self._now(days, 16, 20)
        documents.strike(self.register, key, record, reason, ENGINEER, day=self.days.before(days))

    def served(self, days: int, key: str) -> None:
        """Say since when a station is in service."""
        self._now(days, 13)
        on = self.days.before(days).isoformat()
        doings.into_service(self.register, key, ENGINEER, on=on, clock=self.days.clock(days, 13))

    def did(self, days: int, key: str, activity: str, place: str = "", **told: Any) -> None:
        """Keep that an activity of upkeep was done."""
        self._now(days, 14, 30)
        doings.done(
            self.register,
            key,
            TECHNICIAN,
            activity=activity,
            place=place,
            on=self.days.before(days).isoformat(),
            clock=self.days.clock(days, 14, 30),
            **told,
        )

    def deferred(self, days: int, key: str, activity: str, place: str, by: int, **told: str) -> None:
        """Put an activity of upkeep off by some days from the day it is due."""
        self._now(days, 14, 40)
        until = self.days.before(days - by).isoformat()
        doings.defer(
            self.register,
            key,
            ENGINEER,
            activity=activity,
            place=place,
            until=until,
            clock=self.days.clock(days, 14, 40),
            **told,
        )

    def fitted_in(self, days: int, key: str, place: str, serial: str, words: str, why: str) -> None:
        """Put a new piece in."""
        self._now(days, 13, 30)
        pieces.put_in_new(
            self.register,
            key,
            TECHNICIAN,
            place=place,
            serial=serial,
            words=words,
            why=why,
            on=self.days.before(days).isoformat(),
            clock=self.days.clock(days, 13, 30),
        )

    def _now(self, days: int, hour: int, minute: int = 0) -> None:
        self.register.moment = self.days.at(days, hour, minute)


def picture(name: str, width: int = 96, height: int = 64) -> bytes:
    """Return a small picture file for a document: stripes drawn from its name, as PNG."""
    digits = bytes.fromhex(sha256(name.encode()))

    def chunk(kind: bytes, content: bytes) -> bytes:
        body = kind + content
        return len(content).to_bytes(4, "big") + body + zlib.crc32(body).to_bytes(4, "big")

    rows = b"".join(
        b"\0" + bytes(digits[(x // 12 + y // 16) % len(digits)] for x in range(width)) for y in range(height)
    )
    head = width.to_bytes(4, "big") + height.to_bytes(4, "big") + bytes((8, 0, 0, 0, 0))
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )
