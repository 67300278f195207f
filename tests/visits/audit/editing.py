"""Edits of a record: one line changed, left out or written between, as it happens on site."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from steadyhead.records.entry import Entry
from tests.visits.audit.notebook import BAR, LITRE, Notebook

Edit = Callable[[Notebook], None]


def _places(book: Notebook, step: str, kind: str) -> list[int]:
    return [k for k, e in enumerate(book.entries) if e.node == step and e.kind == kind]


def together(*edits: Edit) -> Edit:
    """Several edits, one after the other."""

    def edit(book: Notebook) -> None:
        for one in edits:
            one(book)

    return edit


def note(step: str, text: str, node: str = "") -> Edit:
    """A note written right after the last entry of a step."""

    def edit(book: Notebook) -> None:
        last = max(k for k, e in enumerate(book.entries) if e.node == step)
        near = book.entries[last]
        key = f"{near.id}+"
        book.entries.insert(
            last + 1,
            Entry(
                key,
                near.run,
                node,
                "paper",
                near.device_seq,
                "note",
                {"text": text},
                "Ilse Marrow",
                near.t_device,
            ),
        )

    return edit


def say(step: str, text: str, nth: int = 0, *, more: bool = False) -> Edit:
    """The note of a step in other words, or with some words more."""

    def edit(book: Notebook) -> None:
        place = _places(book, step, "note")[nth]
        old = book.entries[place]
        said = f"{old.payload['text']}. {text}" if more else text
        book.entries[place] = replace(old, payload={"text": said})

    return edit


def drop(*steps: str) -> Edit:
    """Steps left out."""

    def edit(book: Notebook) -> None:
        book.entries[:] = [e for e in book.entries if e.node not in steps]

    return edit


def read(step: str, nth: int = 0, **changes: Any) -> Edit:
    """A reading changed; bar, flow in L/s; None takes a key away."""

    def edit(book: Notebook) -> None:
        place = _places(book, step, "reading")[nth]
        payload: Mapping[str, Any] = {**book.entries[place].payload, **_si(changes)}
        book.entries[place] = replace(
            book.entries[place], payload={k: v for k, v in payload.items() if v is not None}
        )

    return edit


def _si(changes: Mapping[str, Any]) -> dict[str, Any]:
    scale = {"value": BAR, "flow": LITRE}
    return {k: v * scale[k] if k in scale and v is not None else v for k, v in changes.items()}


def act(step: str, do: str, **changes: Any) -> Edit:
    """An act changed; without changes it is left out."""

    def edit(book: Notebook) -> None:
        place = next(k for k in _places(book, step, "action") if book.entries[k].payload["do"] == do)
        if changes:
            book.entries[place] = replace(
                book.entries[place], payload={**book.entries[place].payload, **changes}
            )
        else:
            book.entries.pop(place)

    return edit


def place(step: str, thing: str, where: str, nth: int = 0) -> Edit:
    """A position listed otherwise."""

    def edit(book: Notebook) -> None:
        spots = [k for k in _places(book, step, "position") if book.entries[k].payload["thing"] == thing]
        if spots:
            book.entries[spots[nth]] = replace(
                book.entries[spots[nth]], payload={"thing": thing, "is": where}
            )
            return
        last = max(k for k, e in enumerate(book.entries) if e.node == step)
        near = book.entries[last]
        book.entries.insert(
            last + 1, replace(near, id=f"{near.id}p", kind="position", payload={"thing": thing, "is": where})
        )

    return edit


def tool(name: str, **changes: Any) -> Edit:
    """An instrument with other data."""

    def edit(book: Notebook) -> None:
        place_ = next(
            k for k, e in enumerate(book.entries) if e.kind == "instrument" and e.payload["name"] == name
        )
        book.entries[place_] = replace(
            book.entries[place_], payload={**book.entries[place_].payload, **changes}
        )

    return edit


def nothing(book: Notebook) -> None:
    """No edit."""
