"""Read a paper back: its text, its structure for machine voices, its lettering and the boxes to write in."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ContentStream

POINTS_PER_MM = 72.0 / 25.4


@lru_cache(maxsize=8)
def opened(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def pages(pdf: bytes) -> list[str]:
    """Text of each page, words joined by single spaces, places to break taken out."""
    return list(_pages(pdf))


@lru_cache(maxsize=32)
def _pages(pdf: bytes) -> tuple[str, ...]:
    found = (page.extract_text().replace("\u200b", "") for page in opened(pdf).pages)
    return tuple(" ".join(text.split()) for text in found)


def text(pdf: bytes) -> str:
    return " ".join(pages(pdf))


def standards(pdf: bytes) -> str:
    """The metadata packet that says which standards the file claims."""
    packet: bytes = root(pdf)["/Metadata"].get_object().get_data()
    return packet.decode("utf-8")


def root(pdf: bytes) -> Any:
    """The document's catalogue."""
    return opened(pdf).trailer["/Root"]


def faces(pdf: bytes) -> set[str]:
    """Names of the typefaces used, without the mark of their subset."""
    found = set()
    for page in opened(pdf).pages:
        fonts: Any = page["/Resources"]
        found |= {str(font.get_object()["/BaseFont"]).split("+")[-1] for font in fonts["/Font"].values()}
    return found


def elements(pdf: bytes) -> Iterator[dict[str, Any]]:
    """Every element of the structure tree."""

    def walk(node: Any) -> Iterator[dict[str, Any]]:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for inner in node:
                yield from walk(inner)
        elif isinstance(node, dict):
            if "/S" in node:
                yield node
            if "/K" in node:
                yield from walk(node["/K"])

    yield from walk(root(pdf)["/StructTreeRoot"]["/K"])


def tags(pdf: bytes) -> Counter[str]:
    return Counter(str(element["/S"]) for element in elements(pdf))


def alternatives(pdf: bytes) -> list[str]:
    """The sentences that stand for pictures."""
    return [str(e.get("/Alt", "")) for e in elements(pdf) if e["/S"] == "/Figure"]


def box_heights(pdf: bytes, page: int) -> list[float]:
    """Heights [mm] of the stroked boxes with round corners on one page: the boxes to write in."""
    reader = opened(pdf)
    stream = ContentStream(reader.pages[page].get_contents(), reader)
    scale, stack, path, curved = 1.0, [], [], False
    heights: list[float] = []
    for operands, operator in stream.operations:
        if operator == b"q":
            stack.append(scale)
        elif operator == b"Q":
            scale = stack.pop()
        elif operator == b"cm":
            scale *= abs(float(operands[3]))
        elif operator in (b"m", b"l"):
            path.append(float(operands[1]))
        elif operator == b"c":
            path.append(float(operands[5]))
            curved = True
        elif operator in (b"S", b"s", b"n", b"f", b"f*", b"B", b"W"):
            if operator in (b"S", b"s") and curved and path:
                heights.append((max(path) - min(path)) * scale / POINTS_PER_MM)
            path, curved = [], False
    return heights


def letter_sizes(pdf: bytes, page: int, *, above: float = 0.0) -> list[tuple[float, str]]:
    """Size [pt] and text of every run of letters above a height [mm] from the foot of the page."""
    found: list[tuple[float, str]] = []

    def visit(run: str, cm: list[float], tm: list[float], font: Any, size: float) -> None:
        if run.strip() and tm[5] * cm[3] + cm[5] > above * POINTS_PER_MM:
            found.append((abs(size * tm[3] * cm[3]), run.strip()))

    opened(pdf).pages[page].extract_text(visitor_text=visit)
    return found
