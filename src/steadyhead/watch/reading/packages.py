"""Packed files that are no spreadsheet: they are to be unpacked first."""

from __future__ import annotations

import io
import zipfile

from steadyhead.errors import InputError

STARTS = (b"\x1f\x8b", b"7z\xbc\xaf\x27\x1c", b"Rar!", b"BZh9", b"\xfd7zXZ", b"\x28\xb5\x2f\xfd")
BOOKS = ("xl/", "content.xml", "word/", "[content_types].xml")


def refuse_packed(content: bytes, where: str) -> None:
    """Refuse a packed file, with the files that lie in it.

    Raises
    ------
    InputError
        It is one.
    """
    if content.startswith(b"%PDF"):
        raise InputError(where, "is a PDF, a paper to be read by people.", "Give the file it was made from.")
    inside: list[str] = []
    if content.startswith(b"PK\x03\x04"):
        try:
            with zipfile.ZipFile(io.BytesIO(content)) as source:
                inside = source.namelist()
        except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
            return  # told as a damaged spreadsheet
        if not inside or any(name.casefold().startswith(BOOKS) for name in inside):
            return
    elif not content.startswith(STARTS):
        return
    shown = ", ".join(inside[:3]) + (", …" if len(inside) > 3 else "")
    raise InputError(
        where, "is a packed file" + (f" with {shown} in it." if shown else "."),
        "Unpack it and give what is in it.",
    )  # fmt: skip
