"""What was handed over on the spot, held against the entries a register has: which of them it was said of.

A statement is text (``web/assets/field/handover.js`` writes it): one line a thing, the hash over its
entries, and how far each device had come, by which those entries are found among more.
"""

from __future__ import annotations

import html
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import Ledger, dump
from steadyhead.records.entry import Entry
from steadyhead.station.canonical import sha256

FORMAT = "steadyhead/hand-over/1"
MOST = 40_000
"""Longest statement read. Own estimate: one has about a thousand. [characters]"""
MOST_PAGE = 64_000_000
"""Largest page read. Own estimate. [bytes]"""
_HASH = re.compile(r"[0-9a-f]{64}")
_PART = re.compile(rf"{re.escape(FORMAT)} ([0-9a-f]{{8}}) (\d+)/(\d+)\r?\n")
_WITHIN = {
    name: re.compile(rf'<pre id="{name}">(.*?)</pre>'.encode(), re.DOTALL)
    for name in ("statement", "entries")
}
_NEEDED = ("station", "visit", "said", "entries", "hash")
_AGAIN = "Take it from the page or scan the code again, all of its lines."


@dataclass(frozen=True, slots=True)
class Statement:
    """What somebody said on the spot.

    station: id; run; said: time and person; count: of entries; devices: highest number by device; hash: over
    those entries in the order of judging; lines: all of it by name.
    """

    station: str
    run: str
    said: str
    count: int
    devices: Mapping[str, int]
    hash: str
    lines: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Checked:
    """How a statement stands beside a register.

    matches: those entries are here, unchanged. here, later: of the entries it was said of, how many are here,
    and how many came since. words: all of it in words.
    """

    matches: bool
    count: int
    here: int
    later: int
    words: tuple[str, ...]


def is_page(content: bytes) -> bool:
    """Return whether a file is a page that was handed over."""
    head = content[:400].removeprefix(b"\xef\xbb\xbf")
    return head[:15].lower() == b"<!doctype html>" and FORMAT.encode() in head


def is_statement(content: bytes) -> bool:
    """Return whether a file is a statement as text, or a page with one."""
    return content.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(FORMAT.encode()) or is_page(content)


def entries_within(content: bytes) -> bytes:
    """Return the file of entries within a page that was handed over; any other file as it is.

    Raises
    ------
    InputError
        A page without its entries, or too large.
    """
    return _within(content, "entries") if is_page(content) else content


def statement_within(content: bytes) -> str:
    """Return the statement of a file: text, or a page that was handed over.

    Raises
    ------
    InputError
        A page without it.
    """
    return (_within(content, "statement") if is_page(content) else content).decode("utf-8", "replace")


def _within(content: bytes, name: str) -> bytes:
    if len(content) > MOST_PAGE:
        raise InputError(
            "file", f"has {len(content) / 1e6:.0f} MB; at most 64 MB are read.", "Take the visit's own file."
        )
    found = _WITHIN[name].search(content)
    if found is None:
        raise InputError("file", f"is a hand-over without its {name}.", "Save it from the device again.")
    return html.unescape(found[1].decode("utf-8", "replace")).encode()


def read_statement(text: str) -> Statement:
    """Return a statement as it was said.

    Several codes are laid one behind the other, in any order.

    Raises
    ------
    InputError
        No statement, one of another version, or one of which something is lacking.
    """
    whole = _joined(text[: MOST + 1].lstrip("\ufeff").strip())
    if len(text) > MOST or not whole.startswith(FORMAT):
        raise InputError("statement", f"does not begin with {FORMAT}.", _AGAIN)
    lines = dict(line.partition(": ")[::2] for line in whole.splitlines()[1:] if ": " in line)
    lacking = [name for name in _NEEDED if not lines.get(name)]
    if lacking:
        raise InputError("statement", f"does not say: {', '.join(lacking)}.", _AGAIN)
    count, _, devices = lines["entries"].partition(";")
    digest = lines["hash"].strip()
    figure = next(iter(count.split()), "")
    if not _HASH.fullmatch(digest) or not figure.isdigit():
        raise InputError("statement", "is damaged in its last lines.", _AGAIN)
    return Statement(
        station=lines["station"].partition(",")[0].strip(),
        run=lines["visit"].rpartition(", ")[2].strip(),
        said=lines["said"],
        count=int(figure),
        devices=_devices(devices),
        hash=digest,
        lines=lines,
    )


def _joined(text: str) -> str:
    """Return the parts of several codes as one text; a text that is whole comes back as it is."""
    heads = list(_PART.finditer(text))
    if not heads:
        return text
    parts = {}
    for at, head in enumerate(heads):
        end = heads[at + 1].start() if at + 1 < len(heads) else len(text)
        parts[head[1], int(head[2])] = text[head.end() : end].rstrip()
    name, of = heads[0][1], int(heads[0][3])
    missing = [number for number in range(1, of + 1) if (name, number) not in parts][:9]
    if missing or of > 99:
        raise InputError(
            "statement", f"lacks code {', '.join(map(str, missing))} of {of}.", "Scan every code of it."
        )
    return "".join(parts[name, number] for number in range(1, of + 1))


def _devices(told: str) -> dict[str, int]:
    found = {}
    for one in told.split(";"):
        name, _, number = one.strip().rpartition(" ")
        if not name or not number.isdigit():
            raise InputError("statement", f"names no device and its number in {one.strip()!r:.60}.", _AGAIN)
        found[name] = int(number)
    return found


def check(told: Statement, station: str, run: str, ledger: Ledger) -> Checked:
    """Hold a statement against the entries of a run.

    Parameters
    ----------
    told
        From `read_statement`.
    station, run
        Id of the station and the run the entries are of.
    ledger
        Its entries so far.

    Raises
    ------
    InputError
        It is of another station or visit.
    """
    if told.run != run:
        raise InputError(
            "statement", f"is of another visit, {told.run:.40}.", "Check it on that visit's page."
        )
    if told.station != station:
        raise InputError(
            "statement", f"is of station {told.station:.40}; this is {station}.", "Check it on that station."
        )
    entries = ledger.of_run(run).entries
    meant = [one for one in entries if one.device_seq <= told.devices.get(one.device, -1)]
    later = len(entries) - len(meant)
    matches = sha256(dump(meant)) == told.hash
    return Checked(matches, told.count, len(meant), later, _words(told, meant, matches, later))


def _words(told: Statement, meant: Sequence[Entry], matches: bool, later: int) -> tuple[str, ...]:
    since = f"{later} {'entry' if later == 1 else 'entries'} came since; the statement says nothing of them."
    more = (since,) if later else ("No entry came since.",)
    if matches:
        same = f"The register holds the {told.count} entries this was said of, unchanged: {told.hash[:12]}…"
        return (
            same,
            *more,
            "What it says of proofs was judged on the device: the page of the visit judges anew.",
        )
    if len(meant) < told.count:
        short = f"{told.count - len(meant)} of {told.count} entries are not here yet."
        return (short, "Take the file of the device in, or let it send them, then check again.")
    return (
        f"{told.count} entries are here as it says, but not the same: their hash is another one.",
        "The statement was changed, or an entry came under the same number. Count on the register.",
    )
