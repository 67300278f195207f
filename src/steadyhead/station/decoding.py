"""Bytes of a station file to text; says what it found when they are no text."""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass

from steadyhead.station.limits import LARGEST_FILE_BYTES
from steadyhead.station.refusal import Refusal

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_NOT_TEXT = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True)
class Encoding:
    """How the text stood in the bytes, so that it can be written back the same way."""

    name: str = "utf-8"
    mark: bytes = b""


UTF8 = Encoding()


def decoded(source: bytes | str) -> tuple[str, Encoding]:
    """Return text and encoding of a station file; a byte order mark is taken off.

    UTF-8 is expected; UTF-16 and UTF-32 are read where a byte order mark says so.

    Raises
    ------
    Refusal
        Too large, not in these encodings, or with characters that are no text.
    """
    if isinstance(source, str):
        text, encoding = source.removeprefix("\ufeff"), UTF8
        size = len(text)
    else:
        size = len(source)
        _refuse_large(size)
        text, encoding = _decode(source)
    _refuse_large(size)
    strange = _NOT_TEXT.search(text)
    if strange:
        line = text.count("\n", 0, strange.start()) + 1
        raise Refusal(
            "station file",
            f"has the control character U+{ord(strange.group()):04X}.",
            "Delete it, or save the file again as plain text in UTF-8.",
            line=line,
        )
    return text, encoding


def _decode(source: bytes) -> tuple[str, Encoding]:
    for mark, encoding in _MARKS:
        if source.startswith(mark):
            try:
                return source[len(mark) :].decode(encoding), Encoding(encoding, mark)
            except UnicodeDecodeError as error:
                raise _no_text(source, error, encoding.upper()) from None
    try:
        return source.decode("utf-8"), UTF8
    except UnicodeDecodeError as error:
        raise _no_text(source, error, "UTF-8") from None


def _no_text(source: bytes, error: UnicodeDecodeError, tried: str) -> Refusal:
    line = source.count(b"\n", 0, error.start) + 1
    found = source[error.start : error.start + 1].hex().upper() if error.start < len(source) else "end"
    return Refusal(
        "station file",
        f"is no {tried} text: byte {found} at position {error.start}.",
        "Save it as plain text in UTF-8.",
        line=line,
    )


def _refuse_large(size: int) -> None:
    if size > LARGEST_FILE_BYTES:
        raise Refusal(
            "station file",
            f"is {size} bytes long; a station file has at most {LARGEST_FILE_BYTES} bytes.",
            "Give the station file itself, not a logger file or a picture.",
        )
