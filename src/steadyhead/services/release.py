"""Freeze a design: the file as given, its canonical form, its findings, who and when, in one record.

A release is found again by the bytes of the station file: `released_as` says which revision they are.
"""

from __future__ import annotations

import base64
import json
import re
import unicodedata
from dataclasses import dataclass
from typing import Any, Literal

from steadyhead import __version__
from steadyhead.errors import InputError
from steadyhead.findings import Finding, forbids_release
from steadyhead.records.design import DesignSheet
from steadyhead.records.protection import FORMAT as PROOF_FORMAT
from steadyhead.records.protection import ProofSheet
from steadyhead.records.station import Station
from steadyhead.services.judging import finding_data
from steadyhead.services.ports import Clock, Shelf
from steadyhead.station.canonical import canonical, sha256
from steadyhead.station.load import Loaded

FORMAT = "steadyhead/release/1"
_NAME = re.compile(r"^(?P<stem>.+)\.r(?P<revision>\d+)\.release\.json$")
TRIES = 50
LONGEST_NAME = 120
"""Longest name of who releases. Own estimate. [characters]"""
_JOINERS = "\u200c\u200d"
"""Marks that some scripts need inside a name."""
_NOT_IN_A_NAME = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
"""Kinds of characters that show nothing, or turn what stands beside them."""


Grounds = Literal["proof", "left out", "not proved", "nothing to prove", "not recorded"]
"""*left out*: somebody asked for that, or stopped it; *not proved*: no way could be; *not recorded*: the
release is older than the records that hold a proof."""


@dataclass(frozen=True, slots=True)
class RestsOn:
    """The protection proof a release rests on, or why there is none.

    Parameters
    ----------
    grounds
        See `Grounds`.
    sha256
        Of the proof as the record holds it, in canonical JSON; empty without one.
    engine_version, engine_sha256
        What worked it out: version, and hash of its source; the latter empty where it cannot be read.
    shut_offs
        What is proved.
    refused
        (way, reason) of ways that could not be proved.
    fits
        Whether what is held still fits its hash.
    """

    grounds: Grounds
    sha256: str = ""
    engine_version: str = ""
    engine_sha256: str = ""
    shut_offs: tuple[str, ...] = ()
    refused: tuple[tuple[str, str], ...] = ()
    fits: bool = True


@dataclass(frozen=True, slots=True)
class Released:
    """A frozen design: where it lies, its revision, and the hash of the stored bytes.

    `is_new` False: the file has not changed since this revision, and nothing was written; `is_proof_new`: the
    proof is now another than the one that revision holds. `rests_on`: the proof it holds.
    """

    name: str
    revision: int
    content: bytes
    sha256: str
    place: str
    is_new: bool = True
    rests_on: RestsOn = RestsOn("not recorded")
    is_proof_new: bool = False


class NotReleasable(InputError):
    """Findings forbid the release; carries them."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        self.findings = findings
        codes = ", ".join(dict.fromkeys(f.code for f in findings))
        super().__init__(
            "release", f"is forbidden by {codes}.", "Cure or answer these findings, then release again."
        )


def release_design(
    loaded: Loaded,
    source: bytes,
    sheet: DesignSheet,
    *,
    by: str,
    clock: Clock,
    shelf: Shelf,
    again: bool = False,
    proof: ProofSheet | None = None,
) -> Released:
    """Freeze a design that no finding forbids and keep it under the next free revision.

    A file that has not changed since the last revision is not frozen twice unless `again` asks for it. The
    record holds the bytes as given, the canonical JSON and the protection proof with all its figures; hashes
    are taken over stored bytes and nothing is worked out again to verify them. A record on the shelf is never
    replaced.

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
    again
        Make a new revision of an unchanged file too.
    proof
        What the sheet was judged with; None: without.

    Raises
    ------
    NotReleasable
        Findings of severity stop, or unanswered questions.
    InputError
        No name, or one that cannot be printed.
    """
    name = read_name(by)
    if forbids_release(sheet.findings):
        raise NotReleasable(tuple(f for f in sheet.findings if f.severity.value in ("stop", "ask")))
    stem = _stem(loaded)
    last = _last(stem, shelf)
    protection = _protection(loaded.station, sheet, proof)
    if last is not None and not again and last.source == source:
        content = last.content
        rests_on = rests_on_of(content)
        return Released(
            last.name,
            last.revision,
            content,
            sha256(content),
            last.name,
            is_new=False,
            rests_on=rests_on,
            is_proof_new=protection.get("sha256", "") not in ("", rests_on.sha256),
        )
    for _ in range(TRIES):
        revision = _next_revision(stem, shelf.names())
        file_name = f"{stem}.r{revision}.release.json"
        record = _record(loaded, source, sheet, name, clock, revision)
        content = canonical(record | {"protection": protection})
        try:
            place = shelf.keep(file_name, content)
        except FileExistsError:
            continue
        return Released(file_name, revision, content, sha256(content), place, rests_on=rests_on_of(content))
    raise InputError("release", "found no free revision number.", "Clear out the folder of releases.")


def released_as(loaded: Loaded, source: bytes, shelf: Shelf) -> str:
    """Return the revision a station file is released as, e.g. ``r3``; empty where it is not.

    Only a record that holds the very bytes of the file counts; a record that cannot be read counts for none.
    """
    records = [_record_at(name, revision, shelf) for revision, name in _taken(_stem(loaded), shelf.names())]
    fitting = [record.revision for record in records if record is not None and record.source == source]
    return f"r{max(fitting)}" if fitting else ""


def rests_on_of(content: bytes) -> RestsOn:
    """Return what a release rests on, from the bytes of its record; one without a word of it is older."""
    try:
        held = json.loads(content)["protection"]
        ways = held.get("ways", [])
        return RestsOn(
            grounds=held["grounds"],
            sha256=str(held.get("sha256", "")),
            engine_version=str(held.get("engine_version", "")),
            engine_sha256=str(held.get("engine_sha256", "")),
            shut_offs=tuple(dict.fromkeys(str(way["shut_off"]) for way in ways)),
            refused=tuple((str(one["way"]), str(one["reason"])) for one in held.get("refused", ())),
            fits=not ways or held.get("sha256") == sha256(canonical(ways)),
        )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return RestsOn("not recorded")


def read_name(words: str) -> str:
    """Return a person's name as it is kept: single spaces, nothing hidden.

    Raises
    ------
    InputError
        Empty, too long, or with characters that show nothing.

    Examples
    --------
    >>> read_name("  Ilse  Marrow ")
    'Ilse Marrow'
    """
    hidden = (one for one in words if unicodedata.category(one) in _NOT_IN_A_NAME and one not in _JOINERS)
    strange = next(hidden, "")
    if strange:
        problem = f"got the hidden character U+{ord(strange):04X}."
        raise InputError("--by", problem, "Type the name anew, letters and spaces only.")
    name = " ".join(words.split())
    if not any(one.isalnum() for one in name):
        got = f"got {name!r}, which is no name." if name else "got no name."
        raise InputError("--by", got, "Say who releases the design, e.g. --by 'Ilse Marrow'.")
    if len(name) > LONGEST_NAME:
        raise InputError("--by", f"got {len(name)} characters.", f"Write {LONGEST_NAME} characters at most.")
    return name


@dataclass(frozen=True, slots=True)
class _Kept:
    """A record on the shelf with the station file it holds."""

    name: str
    revision: int
    content: bytes
    source: bytes


def _stem(loaded: Loaded) -> str:
    return re.sub(r"[^A-Za-z0-9_.\-]", "-", loaded.station.station.id)


def _taken(stem: str, names: tuple[str, ...]) -> list[tuple[int, str]]:
    found = [(m, name) for name in names if (m := _NAME.match(name))]
    return sorted((int(m["revision"]), name) for m, name in found if m["stem"] == stem)


def _last(stem: str, shelf: Shelf) -> _Kept | None:
    taken = _taken(stem, shelf.names())
    return _record_at(taken[-1][1], taken[-1][0], shelf) if taken else None


def _record_at(name: str, revision: int, shelf: Shelf) -> _Kept | None:
    """Return a record with the bytes it holds; None where it is none, or does not fit its own hash."""
    try:
        content = shelf.read(name)
        record = json.loads(content)
        kept = record["file"]
        text = kept["content"]
        source = base64.b64decode(text) if kept["encoding"] == "base64" else text.encode("utf-8")
        fits = record["format"] == FORMAT and record["revision"] == revision
        return _Kept(name, revision, content, source) if fits and kept["sha256"] == sha256(source) else None
    except (InputError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def _next_revision(stem: str, names: tuple[str, ...]) -> int:
    return max((revision for revision, _ in _taken(stem, names)), default=0) + 1


def _protection(station: Station, sheet: DesignSheet, proof: ProofSheet | None) -> dict[str, Any]:
    """Return the proof as the record holds it: figures, hash, and the engine that worked them out."""
    from steadyhead.design.export import plain
    from steadyhead.services.protection import engine_digest, has_something_to_prove

    ways = plain(sheet.protection)
    refused = [{"way": way, "reason": reason} for way, reason in (proof.refused if proof else ())]
    if not ways:
        if not has_something_to_prove(station):
            return {"grounds": "nothing to prove"}
        return {"grounds": "not proved" if refused else "left out", "refused": refused}
    return {
        "grounds": "proof",
        "format": PROOF_FORMAT,
        "ways": ways,
        "sha256": sha256(canonical(ways)),
        "engine_version": sheet.protection[0].engine_version,
        "engine_sha256": engine_digest(),
        "refused": refused,
    }


def _record(
    loaded: Loaded, source: bytes, sheet: DesignSheet, by: str, clock: Clock, revision: int
) -> dict[str, Any]:
    try:
        text = source.decode("utf-8")
        encoding = "utf-8"
    except UnicodeDecodeError:
        text, encoding = base64.b64encode(source).decode("ascii"), "base64"
    return {
        "format": FORMAT,
        "station_id": loaded.station.station.id,
        "station_name": loaded.station.station.name,
        "revision": revision,
        "file": {"content": text, "encoding": encoding, "sha256": sha256(source)},
        "canonical": {"content": json.loads(loaded.canonical), "sha256": sha256(loaded.canonical)},
        **(
            {
                "data_sheets": [
                    {
                        "name": sheet.sheet.name,
                        "content": sheet.source.decode("utf-8", "replace"),
                        "sha256": sheet.sha256,
                    }
                    for sheet in loaded.sheets
                ]
            }
            if loaded.sheets
            else {}
        ),
        "findings": [finding_data(f) for f in sheet.findings],
        "engine_version": __version__,
        "released_by": by,
        "released_at": clock.now().isoformat(),
        "statement": (
            "Results of the values entered and of defaults marked as such. Checked and released by the "
            "person named; codes, the equipment supplier's instructions and the judgement of a locally "
            "licensed person take precedence."
        ),
    }
