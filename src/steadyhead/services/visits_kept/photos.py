"""Photos of a visit: taken at a step on a device, named by an entry, kept as they came beside the run."""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, select

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import PHOTO, Fault, gathered, lines
from steadyhead.register import Register
from steadyhead.register.core import Writing
from steadyhead.register.tables import entry
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.visits_kept.documents import plain_name
from steadyhead.services.visits_kept.filing import Filed, content_of, filed, keep
from steadyhead.services.visits_kept.run_rows import Run, one_run
from steadyhead.station.canonical import canonical, sha256

KIND = "photo"
MOST_PHOTO = 20_000_000
"""Largest photo of a visit. Own estimate: a telephone's largest has 10 to 15 MB. [bytes]"""
ENDINGS: Mapping[str, str] = {
    "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp", "image/heic": "heic", "image/avif": "avif",
}  # fmt: skip
"""Media types that are kept, and how a name ends that was not told."""
_BRANDS: Mapping[bytes, str] = {
    **dict.fromkeys((b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1"), "image/heic"),
    **dict.fromkeys((b"avif", b"avis"), "image/avif"),
}
"""Marks behind which a picture stands in a box file."""
_TOLD = ("photo", "correction", "void")


@dataclass(frozen=True, slots=True)
class NamedPhoto:
    """A photo as an entry names it: of what, at which step, by whom; digest: of its bytes."""

    of: str
    step: str
    name: str
    digest: str
    who: str


def photo_media(content: bytes) -> str:
    """Return what picture bytes are, by how they begin; empty: none that is kept.

    Examples
    --------
    >>> photo_media(b"\\xff\\xd8\\xff\\xe0"), photo_media(b"<svg></svg>")
    ('image/jpeg', '')
    """
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if content.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return "image/webp"
    return _BRANDS.get(content[8:12], "") if content[4:8] == b"ftyp" else ""


def named(connection: Connection, run: str) -> tuple[NamedPhoto, ...]:
    """Return the photos that standing entries of a visit name by their digest, in order."""
    rows = connection.execute(select(entry.c.line).where(entry.c.run == run).order_by(entry.c.seq)).scalars()
    told = [line for line in rows if any(f'"{kind}"' in line for kind in _TOLD)]
    content = b"".join(line.encode() + b"\n" for line in told)
    found = [one for one in lines(content, "entries") if not isinstance(one, Fault) and one.kind in _TOLD]
    return tuple(
        NamedPhoto(
            str(one.payload.get("of", "")), one.node, str(one.payload.get("name", "")),
            str(one.payload["sha256"]), one.who,
        )
        for one in gathered(found).standing
        if one.kind == KIND and one.payload.get("sha256")
    )  # fmt: skip


def keep_photo(
    register: Register,
    key: str,
    run: str,
    digest: str,
    content: bytes,
    who: str,
    *,
    at: str = "",
    day: date | None = None,
) -> tuple[Filed, bool]:
    """Keep a photo of a visit; return it, and whether it is new. Sent again, nothing changes.

    Parameters
    ----------
    digest
        SHA-256 of the bytes, as the entry names it.

    Raises
    ------
    NotKept
        No such visit.
    InputError
        Empty, too large, another digest, or no picture.
    """
    hold(digest, content)
    with register.writing(who, at) as writing:
        of = one_run(writing.connection, key, run)
        found = lay_in(writing, of, {digest: content})
        if found:
            renew(writing, register, key, day)
            return found[0], True
        return _there(writing.connection, of, digest)[0], False


def hold(digest: str, content: bytes) -> None:
    """Hold bytes against what a photo may be; see `keep_photo`."""
    if not content:
        raise InputError("photo", "is empty.", "Send its bytes.")
    if len(content) > MOST_PHOTO:
        raise InputError(
            "photo",
            f"has {len(content) / 1e6:.1f} MB; at most {MOST_PHOTO / 1e6:.0f} MB are kept.",
            "Take it smaller, or lay it beside the station in parts.",
        )
    if sha256(content) != digest:
        raise InputError(
            "photo", f"has the digest {sha256(content)[:12]}…, not {digest[:12]}….", "Send it again, whole."
        )
    if not photo_media(content):
        raise InputError("photo", "is no JPEG, PNG, WebP, HEIC or AVIF.", "Send the picture as it was taken.")


def photo_line(digest: str, content: bytes) -> bytes:
    """Return the line by which a file of entries brings a photo along.

    Examples
    --------
    >>> photo_line("ab", b"x")
    b'{"photo":{"base64":"eA==","sha256":"ab"}}'
    """
    return canonical({"photo": {"base64": base64.b64encode(content).decode(), "sha256": digest}})


def read_photo(line: bytes) -> tuple[str, bytes]:
    """Return digest and bytes of a photo that a line of a file of entries brings along.

    Raises
    ------
    InputError
        It cannot be read, or what `hold` refuses.
    """
    try:
        told = json.loads(line)["photo"]
        digest, content = str(told["sha256"]), base64.b64decode(told["base64"], validate=True)
    except (ValueError, TypeError, KeyError, binascii.Error, RecursionError):
        raise InputError("photo", "cannot be read.", "Save the file on the device once more.") from None
    hold(digest, content)
    return digest, content


def is_photo(line: bytes) -> bool:
    """Return whether a line of a file of entries brings a photo."""
    return line.startswith(PHOTO)


def lay_in(writing: Writing, of: Run, photos: Mapping[str, bytes]) -> list[Filed]:
    """Keep photos of a visit inside a transaction, by their digests; return those that were not there."""
    names = {one.digest: one for one in named(writing.connection, of.id)}
    fresh = []
    for digest, content in photos.items():
        if _there(writing.connection, of, digest):
            continue
        media, told = photo_media(content), names.get(digest)
        name = plain_name(told.name) if told is not None and told.name else ""
        title = f"{told.of}, {told.step}".strip(", ") if told is not None else ""
        fresh.append(
            keep(
                writing,
                of.station,
                KIND,
                content,
                name=name or f"photo-{digest[:8]}.{ENDINGS[media]}",
                title=title or f"photo {digest[:8]}",
                media=media,
                run=of.id,
                about={"size": len(content)},
            )
        )
    return fresh


def _there(connection: Connection, of: Run, digest: str) -> Sequence[Filed]:
    return [one for one in filed(connection, of.station, (KIND,), of.id) if one.digest == digest]


def kept_photos(every: Sequence[Filed]) -> dict[str, Filed]:
    """Return the photos among records by digest."""
    return {one.digest: one for one in every if one.kind == KIND}


def photo_at(register: Register, key: str, run: str, digest: str) -> tuple[Filed, bytes]:
    """Return a photo of a visit and its bytes.

    Raises
    ------
    NotKept
        No such visit, or it has no such photo.
    """
    with register.reading() as connection:
        found = _there(connection, one_run(connection, key, run), digest)
    if not found:
        raise NotKept(
            "photo", f"{digest[:12]} is not kept here.", "Open the visit on the device that took it."
        )
    return found[0], content_of(register, found[0])
