"""The face of a station, and whether it is on the list."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter, Request, Response
from markupsafe import Markup

from steadyhead import __version__
from steadyhead.drawings import screen
from steadyhead.services.stations.face import WIDTHS, FaceView, face
from steadyhead.services.stations.off_list import tell_listing
from steadyhead.services.stations.situation import say_day
from steadyhead.web.answering import answer, done
from steadyhead.web.forms import Sent, Typed, takes
from steadyhead.web.reader import Asks, Kept
from steadyhead.web.rights import needs

router = APIRouter()

SHOWN = 6
"""Needs that are shown at once; the others stand behind a fold."""


class SentListing(Sent):
    """Whether a station is to be off the list or back on it, and why."""

    what: Literal["off", "back"]
    reason: str = ""


@router.get("/stations/{key}", responses={200: {"model": FaceView, "content": {"image/svg+xml": {}}}})
def station(request: Request, key: str, reader: Asks, register: Kept) -> Response:
    """Show the face of a station; with `as=svg` its strip, made to stand alone."""
    view, strips = face(register, key, reader.units)
    if request.query_params.get("as") == "svg":
        return _alone(strips.drawn)
    return answer(
        request,
        "station/face.html",
        view,
        strips=tuple(zip(WIDTHS, map(Markup, strips.drawn), strict=False)),
        shown=SHOWN,
        say_day=say_day,
        engine=__version__,
    )


def _alone(drawn: tuple[str, ...]) -> Response:
    """Return the widest strip with its pens and colours inside, as a file that stands alone."""
    if not drawn:
        return Response("no picture: the station file is not read by this version\n", 409)
    head, _, tail = drawn[0].partition("<title>")
    alone = screen(embed=True)
    head = head.replace(screen().root(), alone.root())
    title, mark, rest = tail.partition("</desc>")
    content = f"{head}<title>{title}{mark}{alone.style()}{rest}"
    return Response(content, media_type="image/svg+xml", headers={"content-disposition": "inline"})


@router.post(
    "/stations/{key}",
    status_code=201,
    responses={201: {"model": FaceView}, 303: {"description": "Done; see its page."}},
    dependencies=[needs("engineer")],
    openapi_extra=takes(SentListing),
)
def list_station(request: Request, key: str, form: Typed, reader: Asks, register: Kept) -> Response:
    """Take a station off the list or bring it back; nothing of it is lost."""
    sent = form.read(SentListing)
    tell_listing(register, key, sent.what, sent.reason, reader.name)
    return done(request, face(register, key, reader.units)[0], f"/stations/{key}")
