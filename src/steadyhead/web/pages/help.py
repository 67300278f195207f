"""Help in our own words: the first hour, words, keys, rights, backup, keys that sign."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, ConfigDict
from starlette.exceptions import HTTPException

from steadyhead.web.answering import answer
from steadyhead.web.rights import WORDS
from steadyhead.web.templating import render

router = APIRouter(tags=["help"])

TOPICS: dict[str, tuple[str, str]] = {
    "first-hour": ("The first hour", "From a station file to a page that says what is missing."),
    "words": ("Words", "What the words and marks on the pages mean."),
    "keys": ("Keys", "Everything can be done without a mouse."),
    "studies": ("Studies", "What takes a while: what is asked, how to stop it, what an old picture means."),
    "rights": ("Rights", "Who may do what, and how a team opens the app."),
    "backup": ("Backup", "What to keep safe, and how to know that it is whole."),
    "signing-key": (
        "Keys that sign",
        "What proves that a certificate is yours, and what to do if it is lost.",
    ),
}

_PLAIN = str.maketrans("", "", "`*")
"""Takes the marks of emphasis out of a description."""
_TAG = re.compile(r"<[^>]*>")
_BLOCK = re.compile(r"</?(?:main|div|section|h\d|p|ul|ol|li|dl|dt|dd|pre|table|thead|tbody|tr)\b[^>]*>")


class Topic(BaseModel):
    """A topic of the help."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    name: str
    title: str
    words: str


class HelpView(BaseModel):
    """The topics of the help; `topic` is the one shown, `text` what its page says, a line for each part."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    topics: tuple[Topic, ...]
    topic: str = ""
    text: tuple[str, ...] = ()


class Address(BaseModel):
    """One address and one way to ask it."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    room: str
    method: str
    path: str
    words: str


class AddressesView(BaseModel):
    """Every address of the interface."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    addresses: tuple[Address, ...]


ALL = tuple(Topic(name=name, title=title, words=words) for name, (title, words) in TOPICS.items())


@router.get("/help", responses={200: {"model": HelpView}})
def topics(request: Request) -> Response:
    """List the topics of the help."""
    return answer(request, "help/topics.html", HelpView(topics=ALL))


@router.get("/help/api", responses={200: {"model": AddressesView}})
def addresses(request: Request) -> Response:
    """List every address with what it does."""
    described: dict[str, dict[str, Any]] = request.app.openapi()["paths"]
    found = [
        Address(
            room=(told.get("tags") or [path.split("/")[1]])[0], method=method.upper(), path=path,
            words=str(told.get("description") or told.get("summary") or "").split("\n")[0].translate(_PLAIN),
        )
        for path, ways in described.items()
        for method, told in ways.items()
    ]  # fmt: skip
    ordered = tuple(sorted(found, key=lambda one: (one.path, one.method)))
    return answer(request, "help/addresses.html", AddressesView(addresses=ordered))


@router.get("/help/{topic}", responses={200: {"model": HelpView}})
def topic(request: Request, topic: str) -> Response:
    """Show one topic."""
    if topic not in TOPICS:
        raise HTTPException(404)
    title, words = TOPICS[topic]
    view = HelpView(topics=ALL, topic=topic)
    more: dict[str, Any] = {"title": title, "words": words, "rights": WORDS}
    text = _text(render(request, f"help/{topic}.html", view=view, **more))
    return answer(request, f"help/{topic}.html", view.model_copy(update={"text": text}), **more)


def _text(page: str) -> tuple[str, ...]:
    """Return what the main part of a page says, without its ways to other pages and its pictures."""
    main = re.sub(r"(?s)<(nav|aside|svg)\b.*?</\1>", "", page.partition("<main")[2].partition("</main>")[0])
    lines = _BLOCK.split(f"<main{main}".replace("</th>", " ").replace("</td>", " "))
    told = (" ".join(unescape(_TAG.sub("", line)).split()) for line in lines)
    return tuple(line for line in told if line)
