"""Files laid into a finished PDF behind its last byte, so that the page before them stays byte for byte.

An addition of this form (ISO 32000-1, 7.5.6, incremental update) is a function of the paper and the files
alone. Made again from what it carries it must come out the same: so nothing can be slipped into it, and
whatever stands behind it is seen.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from steadyhead.errors import InputError
from steadyhead.reports.paper import Attachment

FORM = "steadyhead/attached/1"
_MARK = re.compile(rb"\n%steadyhead/attached/1 (\d{1,12})\n")
_TAIL = re.compile(rb"\ntrailer\n<<(?P<trailer>.*?)>>\nstartxref\n(?P<start>\d+)\n%%EOF\s*\Z", re.DOTALL)
_FILE = re.compile(
    rb"(\d{1,9}) 0 obj\n<</Type/EmbeddedFile/Subtype/([A-Za-z0-9.#+-]{1,80})/Params<</Size (\d{1,12})"
    rb"/ModDate\(D:(\d{14})Z\)>>/Length (\d{1,12})>>\nstream\n"
)
_SPEC = re.compile(
    rb"\nendstream\nendobj\n(\d{1,9}) 0 obj\n<</Type/Filespec/F\(([A-Za-z0-9._-]{1,80})\)/UF\(\2\)"
    rb"/Desc\(([ -'*-\[\]-~]{0,200})\)/AFRelationship/Data/EF<</F (\d{1,9}) 0 R/UF \4 0 R>>>>\nendobj\n"
)
_NAME = re.compile(r"[A-Za-z0-9._-]{1,80}", re.ASCII)
_ABOUT = re.compile(r"[ -'*-\[\]-~]{0,200}", re.ASCII)
_MIME = re.compile(r"[a-z]+/[a-z0-9.+-]+", re.ASCII)


@dataclass(frozen=True, slots=True)
class Attached:
    """What a PDF with files laid in behind it consists of.

    Parameters
    ----------
    page
        The paper before anything was laid in.
    files
        What was laid in, by name.
    exact
        The addition is, byte for byte, the one this paper and these files make.
    behind
        Bytes that somebody set behind it.
    laid
        What was laid in, in its order, with phrase and kind; a name may stand there twice.
    stamp
        Date and time that the files bear, UTC, as ``20270414152000``; of several, that of the last.
    """

    page: bytes
    files: dict[str, bytes]
    exact: bool
    behind: bytes
    laid: tuple[Attachment, ...] = ()
    stamp: str = ""


def attach(page: bytes, files: Sequence[Attachment], stamp: str) -> bytes:
    """Return a paper with files laid in behind it; the paper's own bytes come first, unchanged.

    Parameters
    ----------
    page
        A PDF as `steadyhead.reports.paper.render` makes it, without attachments of its own.
    files
        What is laid in; names of letters, figures, dots, hyphens and low lines.
    stamp
        Date and time that the files bear, UTC, as ``20270414152000``.

    Raises
    ------
    InputError
        Not such a PDF.
    """
    found = _TAIL.search(page[-4000:])
    root = re.search(rb"/Root (\d+) 0 R", found["trailer"]) if found else None
    size = re.search(rb"/Size (\d+)", found["trailer"]) if found else None
    if found is None or root is None or size is None:
        raise InputError("paper", "is no PDF that files can be laid into.", "Make the paper anew.")
    catalog = _object(page, int(root[1]), int(found["start"]))
    first = int(size[1])
    out = bytearray(page + b"\n%" + FORM.encode() + b" %d\n" % len(page))
    places: dict[int, int] = {}
    for index, file in enumerate(files):
        places |= _put(out, file, first + 2 * index, stamp)
    places[int(root[1])] = len(out)
    out += b"%d 0 obj\n%s\nendobj\n" % (int(root[1]), _with_files(catalog, files, first))
    _put_table(out, places, found["trailer"], first + 2 * len(files), int(found["start"]))
    return bytes(out)


def taken_apart(content: bytes) -> Attached | None:
    """Return page and files of such a PDF, also of one that was changed; None where nothing was laid in.

    Of several additions the first counts; the later ones stand behind it.
    """
    marks = [mark for mark in _MARK.finditer(content) if int(mark[1]) == mark.start()]
    mark = next(iter(marks), None) or next(_MARK.finditer(content), None)
    if mark is None:
        return None
    page, files, stamp = content[: mark.start()], [], ""
    place = mark.end()
    while head := _FILE.match(content, place):
        length = int(head[5])
        data = content[head.end() : head.end() + length]
        spec = _SPEC.match(content, head.end() + length)
        if spec is None:
            spec = _SPEC.search(content, head.end())
            if spec is None:
                break
            data = content[head.end() : spec.start()]
        mime = head[2].decode().replace("#2F", "/")
        files.append(Attachment(spec[2].decode(), data, spec[3].decode(), mime))
        stamp, place = head[4].decode(), spec.end()
    made = _made_again(page, files, stamp)
    exact = made is not None and content.startswith(made)
    behind = content[len(made) :] if exact and made is not None else b""
    return Attached(page, {file.name: file.content for file in files}, exact, behind, tuple(files), stamp)


def _made_again(page: bytes, files: Sequence[Attachment], stamp: str) -> bytes | None:
    try:
        return attach(page, files, stamp)
    except InputError:
        return None


def _object(page: bytes, number: int, table: int) -> bytes:
    """Return the dictionary of an object of a classic table of places."""
    entry = re.compile(rb"xref\n0 (\d+)\n").match(page, table)
    place = -1
    if entry is not None and number < int(entry[1]):
        line = page[entry.end() + 20 * number : entry.end() + 20 * number + 20]
        place = int(line[:10]) if line[:10].isdigit() else -1
    found = re.compile(rb"%d 0 obj\n(<<.*?>>)\nendobj\n" % number, re.DOTALL).match(page, max(place, 0))
    if found is None or b"/Names" in found[1] or b"/AF" in found[1]:
        raise InputError("paper", "is no PDF that files can be laid into.", "Make the paper anew.")
    return found[1]


def _put(out: bytearray, file: Attachment, number: int, stamp: str) -> dict[int, int]:
    fits = _NAME.fullmatch(file.name) and _ABOUT.fullmatch(file.about) and _MIME.fullmatch(file.mime_type)
    if not fits or not re.fullmatch(r"\d{14}", stamp):
        raise InputError(
            "attachment", f"got {file.name!r:.60}.", "Use a plain name, phrase and kind of file."
        )
    places = {number: len(out)}
    size, mime = len(file.content), file.mime_type.replace("/", "#2F").encode()
    out += (
        b"%d 0 obj\n<</Type/EmbeddedFile/Subtype/%s/Params<</Size %d/ModDate(D:%sZ)>>/Length %d>>\nstream\n"
    ) % (
        number,
        mime,
        size,
        stamp.encode(),
        size,
    )
    out += file.content + b"\nendstream\nendobj\n"
    places[number + 1] = len(out)
    name, about = file.name.encode(), file.about.encode()
    out += (
        b"%d 0 obj\n<</Type/Filespec/F(%s)/UF(%s)/Desc(%s)/AFRelationship/Data"
        b"/EF<</F %d 0 R/UF %d 0 R>>>>\nendobj\n"
    ) % (number + 1, name, name, about, number, number)
    return places


def _with_files(catalog: bytes, files: Sequence[Attachment], first: int) -> bytes:
    refs = {file.name.encode(): b"%d 0 R" % (first + 2 * index + 1) for index, file in enumerate(files)}
    names = b"".join(b"(%s) %s" % (name, refs[name]) for name in sorted(refs))
    listed = b" ".join(refs.values())
    return catalog[:-2] + b"/AF[%s]/Names<</EmbeddedFiles<</Names[%s]>>>>>>" % (listed, names)


def _put_table(out: bytearray, places: dict[int, int], trailer: bytes, size: int, before: int) -> None:
    start = len(out)
    out += b"xref\n0 1\n0000000000 65535 f\r\n"
    for number in sorted(places):
        out += b"%d 1\n%010d 00000 n\r\n" % (number, places[number])
    kept = re.sub(rb"/Size \d+", b"/Size %d" % size, trailer)
    out += b"trailer\n<<%s/Prev %d>>\nstartxref\n%d\n%%%%EOF\n" % (kept, before, start)
