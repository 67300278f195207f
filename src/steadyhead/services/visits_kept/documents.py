"""Documents of a station: any file a person lays beside it, given out again as it came."""

from __future__ import annotations

import re
import unicodedata
from datetime import date

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.kept import station_row
from steadyhead.services.visits_kept.filing import DOCUMENTS, MARKS, Filed, keep, one_filed, strike_out

MOST = 32_000_000
"""Largest document. Own estimate: a scan of some hundred sheets. [bytes]"""
LONGEST_NAME = 120
PICTURES = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
"""Beginnings of the files that may be shown as pictures."""
PLAIN = "application/octet-stream"
_ENDINGS = {
    "pdf": "application/pdf",
    "txt": "text/plain; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
}


def take_document(
    register: Register,
    key: str,
    name: str,
    content: bytes,
    who: str,
    *,
    title: str = "",
    kind: str = "document",
    run: str = "",
    at: str = "",
    day: date | None = None,
) -> Filed:
    """Keep a document beside a station.

    Parameters
    ----------
    name, content
        The file as it came.
    title, kind
        What it is in words; one of `DOCUMENTS`.
    run
        Visit it belongs to; empty for none.

    Raises
    ------
    NotKept
        No such station.
    InputError
        Empty, too large, or a kind that is not listed.
    """
    if not content:
        raise InputError("file", "is empty.", "Pick a file.")
    if len(content) > MOST:
        raise InputError(
            "file",
            f"has {len(content) / 1e6:.1f} MB; at most {MOST / 1e6:.0f} MB are kept.",
            "Make it smaller, or lay it in parts.",
        )
    if kind not in DOCUMENTS:
        raise InputError("kind", f"got {kind!r:.40}.", f"Pick one of: {', '.join(DOCUMENTS)}.")
    plain = plain_name(name)
    with register.writing(who, at) as writing:
        station_row(writing.connection, key)
        one = keep(
            writing,
            key,
            kind,
            content,
            name=plain,
            title=title.strip() or plain,
            media=media_of(plain, content),
            run=run,
            about={"size": len(content)},
        )
        renew(writing, register, key, day)
    return one


def strike(
    register: Register, key: str, one: str, reason: str, who: str, *, at: str = "", day: date | None = None
) -> Filed:
    """Strike a record out with a reason; it stays and can still be given out.

    Raises
    ------
    NotKept
        No such record.
    InputError
        No reason, struck out already, or a record that marks another one.
    """
    with register.writing(who, at) as writing:
        found = one_filed(writing.connection, key, one)
        if found.kind in MARKS and found.kind != "trip":
            raise InputError(
                "record", f"{found.title!r:.60} is no paper.", "Strike out the record it is about."
            )
        struck = strike_out(writing, found, reason)
        renew(writing, register, key, day)
    return struck


def plain_name(name: str) -> str:
    """Return a file name without a way to it, without marks that show nothing, and not too long.

    Examples
    --------
    >>> plain_name("../../etc/pass\\u202ewd"), plain_name(""), plain_name("C:\\\\a\\\\scan 1.pdf")
    ('passwd', 'file', 'scan 1.pdf')
    """
    last = re.split(r"[\\/]", name)[-1]
    kept = "".join(one for one in last if unicodedata.category(one)[0] not in "CZ" or one == " ")
    kept = re.sub(r'[<>:"|?*;%]', "_", kept).strip(" .")
    if len(kept) > LONGEST_NAME:
        stem, _, ending = kept.rpartition(".")
        kept = f"{stem[: LONGEST_NAME - 12]}.{ending[:10]}" if stem else kept[:LONGEST_NAME]
    return kept or "file"


def media_of(name: str, content: bytes) -> str:
    """Return the media type a file is given out as: a picture by its first bytes, few by ending."""
    for begins, media in PICTURES.items():
        if content.startswith(begins):
            return media
    ending = name.rpartition(".")[2].lower()
    if ending == "pdf" and not content.startswith(b"%PDF"):
        return PLAIN
    return _ENDINGS.get(ending, PLAIN)


def is_picture(one: Filed) -> bool:
    """Return whether a record may be shown as a picture."""
    return one.media in PICTURES.values()
