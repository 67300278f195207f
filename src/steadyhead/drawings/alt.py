"""One sentence that says what a picture shows, for those who cannot see it."""

from __future__ import annotations

from steadyhead.records.pictures import LadderPicture, StripPicture


def strip_text(picture: StripPicture, lang: str = "en") -> str:
    return "x"
