"""What lies where in an archive, and which of it is needed to make the register again."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from sqlalchemy import Table

from steadyhead.register import tables
from steadyhead.station.canonical import sha256

FORMAT: Final = "steadyhead/archive/1"
MANIFEST: Final = "manifest.json"
CONTENTS: Final = "contents.jsonl"
README: Final = "README.txt"
CHAIN: Final = "history/chain.jsonl"
MAP: Final = "stations.geojson"
LOGGER: Final = "logger"
"""Folder of a station's logger data: files as given by import, samples apart."""
MOST_FILES = 2_000_000
"""Most files of an archive that is read. Own estimate."""
LARGEST = 500_000_000
"""Largest single file of an archive that is read. Own estimate: a certificate has at most 400 MB. [bytes]"""
LARGEST_TABLE = 20_000_000_000
"""Largest table or file of a logger of an archive that is read, piece by piece. Own estimate. [bytes]"""
LONGEST_LINE = 8_000_000
"""Longest line of such a table. Own estimate. [bytes]"""
MOST_PACKED = 300
"""Most times a file may be larger than it is packed, tables left out. Own estimate."""
SMALL = 50_000_000
"""Below this a file may be packed as tightly as it likes. Own estimate. [bytes]"""
MOST_PACKED_ALL = 200
"""Most times all of an archive may be larger than it is packed; real ones reach 20. Own estimate."""
SMALL_ALL = 1_000_000_000
"""Below this all of it may be packed as tightly as it likes. Own estimate. [bytes]"""
_OF_THEIR_OWN = (tables.blob, tables.audit)
_SHOWN = (tables.station, tables.gist, tables.due)
"""What follows from the rest and goes along all the same, so that a page can be shown at once."""
ROWS: Final[tuple[Table, ...]] = tuple(
    table
    for table in tables.METADATA.sorted_tables
    if table in _SHOWN or (table in tables.KEPT and table not in _OF_THEIR_OWN)
)
"""Tables whose rows an archive holds, in an order in which each row finds those it names."""
SETTINGS: Final = ("id",)
"""Facts of the register that go along; keys of sessions stay where they are."""


def rows_name(table: Table) -> str:
    """Return under which name the rows of a table lie."""
    return f"rebuild/{table.name}.jsonl"


def is_logger(name: str) -> bool:
    """Return whether a file of an archive is logger data, which lie beside the database."""
    parts = name.split("/", 3)
    return len(parts) == 4 and parts[0] == "stations" and parts[2] == LOGGER


def blob_name(digest: str) -> str:
    """Return under which name bytes lie that nothing else gives a name."""
    return f"rebuild/blobs/{digest}"


@dataclass(frozen=True, slots=True)
class File:
    """One file of an archive.

    Parameters
    ----------
    name
        Where it lies.
    chunks
        Gives its bytes, piece by piece.
    kept
        Whether the register is made again from it; else it is worked out from what is kept.
    size
        Its size where known; -1: not yet. [bytes]
    """

    name: str
    chunks: Callable[[], Iterable[bytes]]
    kept: bool = True
    size: int = -1


_UNSAFE = re.compile(r"[^\w.() +,@=~'&-]+")
_DEVICES = re.compile(r"^(con|prn|aux|nul|com\d|lpt\d)(\..*)?$", re.IGNORECASE)
LONGEST_NAME = 100


def safe_name(words: str) -> str:
    """Return words as the name of a file on any system; names that were changed stay apart by their hash.

    Examples
    --------
    >>> safe_name("certificate 2027-03.pdf")
    'certificate 2027-03.pdf'
    >>> safe_name("../a:b.pdf")
    'a_b-d1a3a08b.pdf'
    """
    cleaned = _UNSAFE.sub("_", words).strip(" ._")
    if cleaned == words and len(words) <= LONGEST_NAME and not _DEVICES.match(words):
        return words
    stem, dot, ending = cleaned.rpartition(".")
    if not stem or len(ending) > 8:
        stem, dot, ending = cleaned, "", ""
    return f"{stem[: LONGEST_NAME - 20] or 'file'}-{sha256(words.encode())[:8]}{dot}{ending}"
