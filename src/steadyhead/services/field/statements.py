"""What was handed over on the spot, held against the entries a register has: which of them it was said of.

A statement is text (``web/assets/field/handover.js`` writes it): one line a thing, the hash over its
entries, and how far each device had come, by which those entries are found among more.
"""

from __future__ import annotations

import html
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import Ledger, dump, gathered
from steadyhead.procedure.stops import said_stops
from steadyhead.records.entry import Entry
from steadyhead.services.field.claims import JUDGED, LINES, Held, hold, stops_words
from steadyhead.services.plan_files import PlanFile
from steadyhead.station.canonical import sha256
from steadyhead.units import METRIC, UnitSet

FORMAT = "steadyhead/hand-over/1"
MOST = 40_000
"""Longest statement read. Own estimate: one has about a thousand. [characters]"""
MOST_PAGE = 64_000_000
"""Largest page read. Own estimate. [bytes]"""
PAGE_ALONE = (
    "Of the page, its statement and its entries were held against each other; what it shows beside them was "
    "not. Read the visit in the register."
)
"""What is said of a page besides: its tables are for reading."""
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

    matches: those entries are here, unchanged, and bear out every claim that could be checked. here, later:
    of the entries it was said of, how many are here, and how many came since. differs: claims the entries do
    not bear out; unchecked: what nothing at hand can tell. stops: of the words, those about a Stop that was
    said and stands now, or stood then uncounted. words: all of it in words.
    """

    matches: bool
    count: int
    here: int
    later: int
    words: tuple[str, ...]
    differs: tuple[str, ...] = ()
    unchecked: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()


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
    lines = _lines(whole)
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


def _lines(whole: str) -> dict[str, str]:
    """Return the lines by name; one that says a thing twice, or says what no statement does, is refused."""
    found: dict[str, str] = {}
    for line in whole.splitlines()[1:]:
        name, colon, words = line.partition(": ")
        if line == JUDGED or not line.strip():
            continue
        if not colon:
            raise InputError("statement", f"has a line that no statement has: {line[:60]!r}.", _AGAIN)
        if name in found:
            raise InputError("statement", f"says {name:.20} twice.", _AGAIN)
        found[name] = words
    return found


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


def check(
    told: Statement,
    station: str,
    run: str,
    ledger: Ledger,
    plan: PlanFile | None = None,
    names: Collection[str] = (),
    units: UnitSet = METRIC,
) -> Checked:
    """Hold a statement against the entries of a run, claim by claim.

    Parameters
    ----------
    told
        From `read_statement`.
    station, run
        Id of the station and the run the entries are of.
    ledger
        Its entries so far.
    plan
        Plan of the run; None: what hangs on it is told as not checked.
    names
        Names the register has for the station.
    units
        Units to tell a difference in.

    Raises
    ------
    InputError
        It is of another station or visit.
    """
    if told.run != run:
        raise InputError(
            "statement", f"is of another visit, {told.run:.40}.", "Check it on that visit's page."
        )
    if told.station not in (station, plan.procedure.station_id if plan is not None else station):
        raise InputError(
            "statement", f"is of station {told.station:.40}; this is {station}.", "Check it on that station."
        )
    entries = ledger.of_run(run).entries
    meant = [one for one in entries if one.device_seq <= told.devices.get(one.device, -1)]
    later = len(entries) - len(meant)
    since = f"{later} {'entry' if later == 1 else 'entries'} came since; the statement says nothing of them."
    more = since if later else "No entry came since."
    stops = _stops_now(ledger.of_run(run), meant)
    if sha256(dump(meant)) != told.hash:
        words = (*_otherwise(told, meant), *((since,) if later else ()), *stops)
        return Checked(False, told.count, len(meant), later, words, stops=stops)
    held = hold(told.lines, run, gathered(meant), plan, names, units)
    differs = (*_counted(told, meant), *held.differs)
    stops = (*held.notes, *stops)
    words = (*_words(told, meant, more, Held(differs, held.unchecked), plan is not None), *stops)
    return Checked(not differs, told.count, len(meant), later, words, differs, held.unchecked, stops)


def _stops_now(ledger: Ledger, meant: Sequence[Entry]) -> tuple[str, ...]:
    """Return what is told of Stops that stand now: those said since, and those that stood then already."""
    known = {one.id for one in meant}
    every = said_stops(ledger.standing)
    later = [one for one in every if one.id not in known]
    before = [one for one in every if one.id in known]
    since = "was said since, and stands" if len(later) == 1 else "were said since, and stand"
    still = "of that time stands still" if len(before) == 1 else "of that time stand still"
    told = ((later, since), (before, still))
    return tuple(stops_words(stops, how) for stops, how in told if stops)


def _otherwise(told: Statement, meant: Sequence[Entry]) -> tuple[str, ...]:
    """Return why the entries are not those a statement was said of; no other claim is then compared."""
    apart = "What else it says was not compared: it was said of those entries alone."
    if len(meant) < told.count:
        short = f"{told.count - len(meant)} of {told.count} entries are not here yet."
        return (short, "Take the file of the device in, or let it send them, then check again.", apart)
    return (
        f"{told.count} entries are here as it says, but not the same: their hash is another one.",
        "The statement was changed, or an entry came under the same number. Count on the register.",
        apart,
    )


def _counted(told: Statement, meant: Sequence[Entry]) -> tuple[str, ...]:
    """Return how what it says of entries and devices differs from those it was said of."""
    devices: dict[str, int] = {}
    for one in meant:
        devices[one.device] = max(devices.get(one.device, 0), one.device_seq)
    found = []
    if told.count != len(meant):
        found.append(f"{LINES['entries']}: it says {told.count}; its hash is that of {len(meant)}.")
    if dict(told.devices) != devices:
        names = "; ".join(f"{name} {number}" for name, number in sorted(devices.items()))
        found.append(f"{LINES['entries']}: the devices and their last numbers are {names:.300}.")
    return tuple(found)


def _words(
    told: Statement, meant: Sequence[Entry], more: str, held: Held, is_judged: bool
) -> tuple[str, ...]:
    same = f"The register holds the {len(meant)} entries this was said of, unchanged: {told.hash[:12]}…"
    if held.differs:
        first = "The statement was changed after it was said, or comes of another state of the page. "
        return (f"{first}Count on the register.", *held.differs, same, more, *held.unchecked)
    claims = "Every claim of it is what these entries give under the plan of the visit, judged at that time."
    return (same, more, *((claims,) if is_judged else ()), *held.unchecked)
