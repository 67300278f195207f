"""Prove a certificate: which of record and page is what was signed, and by which key."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Literal

from steadyhead.errors import InputError
from steadyhead.reports.attaching import Attached, taken_apart
from steadyhead.services.certificates.making import ENTRIES, HOW, LAID, PLAN, RECORD, SIGNATURE, SIGNED, STAMP
from steadyhead.services.signing import fingerprint, fits, from_text
from steadyhead.station.canonical import canonical, sha256

FORMAT = "steadyhead/verified/1"
KeyIs = Literal["yours", "other", "not compared"]
_ADDED = (
    "Take what a reader of PDF shows for what somebody added, and ask for the file as it was handed over."
)
_SAYS = {"format", "how", "signed", "key", "fingerprint", "signature"}


@dataclass(frozen=True, slots=True)
class Part:
    """One thing that was looked at: whether it is what was signed, and what is to be said of it."""

    name: str
    proved: bool
    words: str


@dataclass(frozen=True, slots=True)
class Verified:
    """What can be proved of a certificate.

    Parameters
    ----------
    number, revision, standing, signed_at
        As signed; empty where nothing can be read.
    finger, key
        Fingerprint of the key it was signed with, and whether that is the key it was compared with.
    parts
        Signature, page, record, plan and entries, each by itself.
    """

    number: str
    revision: int
    standing: str
    signed_at: str
    finger: str
    key: KeyIs
    parts: tuple[Part, ...]
    record: Mapping[str, Any]
    record_sha256: str = ""

    def part(self, name: str) -> Part:
        """Return one part by name."""
        return {part.name: part for part in self.parts}[name]

    @property
    def chain(self) -> tuple[int, str] | None:
        """Number and hash of the link of a register's chain that the record names; None for none."""
        told = self.record.get("chain")
        if not isinstance(told, Mapping) or not isinstance(told.get("hash"), str):
            return None
        return _whole(told.get("seq")), str(told["hash"])

    @property
    def record_proved(self) -> bool:
        """The record is what was signed, by the key it was compared with."""
        return self.part("signature").proved and self.part("record").proved and self.key == "yours"

    @property
    def page_proved(self) -> bool:
        """The page is what was signed, by the key it was compared with, and nothing was laid over it."""
        return self.part("signature").proved and self.part("page").proved and self.key == "yours"

    @property
    def all_proved(self) -> bool:
        """Everything is what was signed, by the key it was compared with."""
        return all(part.proved for part in self.parts) and self.key == "yours"


def verify(
    content: bytes, public: bytes | None = None, kept: bytes | None = None, name: str = "FILE"
) -> Verified:
    """Return what can be proved of a certificate file.

    Parameters
    ----------
    content
        The PDF.
    public
        Public key to compare with, 32 bytes; None: the key is not compared, and nothing counts as proved.
    kept
        A signature kept apart from the file; None: the one inside is taken.
    name
        Name of the file, for messages.

    Raises
    ------
    InputError
        No PDF.
    """
    if not content.startswith(b"%PDF"):
        problem = "is no PDF." if content else "is empty."
        raise InputError(name, problem, "Name the certificate as it was handed over.")
    apart = taken_apart(content)
    inside = apart.files.get(SIGNATURE) if apart else None
    told = _signature(kept if kept is not None else inside)
    signed = told.get("signed") if isinstance(told.get("signed"), dict) else {}
    assert isinstance(signed, dict)
    key = from_text(told.get("key"))
    parts = (
        _is_signed(told, key, _cut(content, signed), lacks=kept is None and inside is None),
        _page(content, apart, signed, kept),
        *(
            _file(name, word, apart, signed)
            for name, word in ((RECORD, "record"), (PLAN, "plan"), (ENTRIES, "entries"))
        ),
    )
    stored = apart.files.get(RECORD, b"") if apart else b""
    record = _record(stored)
    return Verified(
        _line(signed.get("certificate", "")),
        _whole(signed.get("revision")),
        _line(signed.get("standing", "")),
        _line(record.get("signed_at", "")),
        fingerprint(key) if key else "",
        _compared(key, public),
        parts,
        record,
        sha256(stored) if stored else "",
    )


def _line(value: object) -> str:
    """Return what a file says of itself as one plain line: a forger's may hold anything."""
    return "".join(letter if letter.isprintable() else " " for letter in str(value)[:80])


def _whole(value: object) -> int:
    return value if isinstance(value, int) and not isinstance(value, bool) else 0


def _signature(content: bytes | None) -> dict[str, Any]:
    try:
        found = json.loads(content or b"{}")
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def _record(stored: bytes) -> dict[str, Any]:
    return _signature(stored)


def _compared(key: bytes, public: bytes | None) -> KeyIs:
    if public is None or not key:
        return "not compared"
    return "yours" if key == public else "other"


def _cut(content: bytes, signed: Mapping[str, Any]) -> str:
    """Return how a file is cut short: it ends before its page does, or its end mark; empty where not."""
    length, whole = len(content), _whole(signed.get("page_bytes"))
    if length < whole:
        before = f"{whole:,} bytes that the page had as signed"
    elif not content.rstrip().endswith(b"%%EOF"):
        before = "end mark of a PDF"
    else:
        return ""
    return f"The file is cut short or damaged: its bytes end, after {length:,}, before the {before}."


def _is_signed(told: Mapping[str, Any], key: bytes, cut: str, *, lacks: bool) -> Part:
    if lacks and cut:
        return Part("signature", False, f"There is none in it. {cut} Take the file again from where it came.")
    if lacks:
        words = "There is none in the file: attachments were cut off, or another program saved it anew."
        return Part("signature", False, f"{words} Name the signature that was kept: --sig FILE.sig.")
    signed = told.get("signed")
    if told.get("format") != SIGNED or not isinstance(signed, dict) or signed.get("format") != SIGNED:
        return Part("signature", False, "It cannot be read: it is of another format, or was changed.")
    try:
        content = canonical(signed)
    except (TypeError, ValueError):
        return Part("signature", False, "It cannot be read: what it covers is no plain data.")
    if len(key) != 32 or not fits(key, from_text(told.get("signature")), content):
        return Part(
            "signature", False, "It does not fit what it covers: hashes, key or signature were changed."
        )
    if (told.get("how"), told.get("fingerprint")) != (HOW, fingerprint(key)) or set(told) != _SAYS:
        return Part(
            "signature", False, "What stands beside it was changed: how it was made, or the fingerprint."
        )
    return Part("signature", True, "It fits the hashes it covers.")


def _other_files(apart: Attached, kept: bytes | None) -> str:
    """Return what is laid in otherwise than a certificate is made; empty where nothing is."""
    laid = [file.name for file in apart.laid]
    strange = sorted({name for name in laid if name not in LAID or laid.count(name) > 1})
    if strange:
        return f"Another file was laid in beside those that were signed: {', '.join(strange)}."
    inside = apart.files.get(SIGNATURE)
    if kept is not None and inside is not None and inside != kept:
        return "The signature inside is another than the one kept apart."
    if inside is not None and not _is_canonical(inside):
        return "Bytes of the signature inside were changed."
    if {file.name: (file.about, file.mime_type) for file in apart.laid} != LAID or laid != list(LAID):
        return "Names, phrases or order of the files laid in were changed."
    return ""


def _other_date(apart: Attached, signed: Mapping[str, Any]) -> str:
    """Return how the dates of the files laid in differ from the record as signed; empty where not."""
    stored, listed = apart.files.get(RECORD, b""), signed.get("files")
    if not isinstance(listed, dict) or listed.get(RECORD) != sha256(stored):
        return ""
    told = _line(_record(stored).get("signed_at", ""))
    try:
        wanted = datetime.fromisoformat(told).astimezone(UTC).strftime(STAMP)
    except ValueError:
        return ""
    if apart.stamp == wanted:
        return ""
    return f"The files laid in bear another date than the record: {apart.stamp} UTC, signed at {told}."


def _is_canonical(stored: bytes) -> bool:
    try:
        return canonical(_signature(stored)) == stored
    except (TypeError, ValueError):
        return False


def _page(content: bytes, apart: Attached | None, signed: Mapping[str, Any], kept: bytes | None) -> Part:
    wanted = signed.get("page_sha256")
    page = content if apart is None else apart.page
    cut = _cut(content, signed)
    if not wanted:
        return Part("page", False, cut or "No hash of it is at hand.")
    if sha256(page) != wanted:
        length = _whole(signed.get("page_bytes"))
        if apart is None and sha256(content[:length]) == wanted and content[length:].strip():
            return Part("page", False, f"Something was set behind it. {_ADDED}")
        return Part("page", False, cut or "It is not the page that was signed.")
    if apart is None:
        return Part("page", True, "Byte for byte as signed; what was laid in behind it is gone.")
    if not apart.exact and cut:
        return Part("page", False, f"Its bytes are as signed. {cut}")
    if not apart.exact:
        return Part("page", False, f"Its bytes are as signed, but the part behind it was changed. {_ADDED}")
    if apart.behind.strip():
        count = len(apart.behind)
        return Part(
            "page", False, f"{count} bytes were set behind the signed file, and may lie over it. {_ADDED}"
        )
    other = _other_files(apart, kept) or _other_date(apart, signed)
    if other:
        return Part("page", False, f"Its bytes are as signed. {other} {_ADDED}")
    return Part("page", True, "Byte for byte as signed, and nothing is laid over it.")


def _file(name: str, word: str, apart: Attached | None, signed: Mapping[str, Any]) -> Part:
    listed = signed.get("files")
    wanted = listed.get(name) if isinstance(listed, dict) else None
    found = apart.files.get(name) if apart else None
    if found is None:
        return Part(word, False, "It is not in the file any more.")
    if not wanted:
        return Part(word, False, "No hash of it is at hand.")
    digest = sha256(found)
    swapped = [one for one, sign in listed.items() if sign == digest] if isinstance(listed, dict) else []
    if digest != wanted and swapped:
        return Part(word, False, f"Files were swapped: under this name lies {_line(swapped[0])} as signed.")
    if digest != wanted:
        return Part(
            word,
            False,
            f"It is not the {word} that was signed."
            if word != "entries"
            else "They are not the entries that were signed.",
        )
    return Part(word, True, "Byte for byte as signed.")


def verified_data(found: Verified) -> dict[str, Any]:
    """Return what was proved as plain data; `chain` is there where the record names a register's chain."""
    chain = {} if found.chain is None else {"chain": {"seq": found.chain[0], "hash": found.chain[1]}}
    return chain | {
        "format": FORMAT,
        "certificate": found.number,
        "revision": found.revision,
        "standing": found.standing,
        "signed_at": found.signed_at,
        "key": {"fingerprint": found.finger, "is": found.key},
        "record_proved": found.record_proved,
        "page_proved": found.page_proved,
        "parts": {part.name: {"proved": part.proved, "words": part.words} for part in found.parts},
    }
