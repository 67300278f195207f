"""Freeze a design: the file as given, its canonical form, its findings, who and when, in one record."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Any

from steadyhead import __version__
from steadyhead.errors import InputError
from steadyhead.findings import Finding, forbids_release, tell
from steadyhead.records.design import DesignSheet
from steadyhead.services.judging import finding_data
from steadyhead.services.ports import Clock, Shelf
from steadyhead.station.canonical import canonical, sha256
from steadyhead.station.load import Loaded

FORMAT = "steadyhead/release/1"
_NAME = re.compile(r"^(?P<stem>.+)\.r(?P<revision>\d+)\.release\.json$")
TRIES = 50


@dataclass(frozen=True, slots=True)
class Released:
    """A frozen design: where it lies, its revision, and the hash of the stored bytes."""

    name: str
    revision: int
    content: bytes
    sha256: str
    place: str


class NotReleasable(InputError):
    """Findings forbid the release; carries them."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        self.findings = findings
        codes = ", ".join(dict.fromkeys(f.code for f in findings))
        super().__init__(
            "release", f"is forbidden by {codes}.", "Cure or answer these findings, then release again."
        )


def release_design(
    loaded: Loaded, source: bytes, sheet: DesignSheet, *, by: str, clock: Clock, shelf: Shelf
) -> Released:
    """Freeze a design that no finding forbids and keep it under the next free revision.

    The record holds the bytes as given and the canonical JSON; hashes are taken over stored bytes and
    nothing is worked out again to verify them. A record on the shelf is never replaced.

    Parameters
    ----------
    loaded, source
        The station file, read and as given.
    sheet
        Its design sheet.
    by
        Who releases it; a name a person answers to.
    clock, shelf
        When, and where it is kept.

    Raises
    ------
    NotReleasable
        Findings of severity stop, or unanswered questions.
    InputError
        No name, or a station name that makes no file name.
    """
    name = " ".join(by.split())
    if not name:
        raise InputError("--by", "got no name.", "Say who releases the design, e.g. --by 'Ilse Marrow'.")
    if forbids_release(sheet.findings):
        raise NotReleasable(tuple(f for f in sheet.findings if f.severity.value in ("stop", "ask")))
    stem = re.sub(r"[^A-Za-z0-9_.\-]", "-", loaded.station.station.id)
    for _ in range(TRIES):
        revision = _next_revision(stem, shelf.names())
        file_name = f"{stem}.r{revision}.release.json"
        content = canonical(_record(loaded, source, sheet, name, clock, revision))
        try:
            place = shelf.keep(file_name, content)
        except FileExistsError:
            continue
        return Released(file_name, revision, content, sha256(content), place)
    raise InputError("release", "found no free revision number.", "Clear out the folder of releases.")


def _next_revision(stem: str, names: tuple[str, ...]) -> int:
    taken = [int(m["revision"]) for m in map(_NAME.match, names) if m and m["stem"] == stem]
    return max(taken, default=0) + 1


def _record(
    loaded: Loaded, source: bytes, sheet: DesignSheet, by: str, clock: Clock, revision: int
) -> dict[str, Any]:
    try:
        text = source.decode("utf-8")
        encoding = "utf-8"
    except UnicodeDecodeError:
        import base64

        text, encoding = base64.b64encode(source).decode("ascii"), "base64"
    return {
        "format": FORMAT,
        "station_id": loaded.station.station.id,
        "station_name": loaded.station.station.name,
        "revision": revision,
        "file": {"content": text, "encoding": encoding, "sha256": sha256(source)},
        "canonical": {"content": json.loads(loaded.canonical), "sha256": sha256(loaded.canonical)},
        "findings": [finding_data(f) | {"words": tell(f).statement} for f in sheet.findings],
        "engine_version": __version__,
        "released_by": by,
        "released_at": clock.now().isoformat(),
        "statement": (
            "Results of the values entered and of defaults marked as such. Checked and released by the "
            "person named; codes, the equipment supplier's instructions and the judgement of a locally "
            "licensed person take precedence."
        ),
    }
