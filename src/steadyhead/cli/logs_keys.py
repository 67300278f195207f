"""What ``steadyhead logs keys`` does once its words are parsed, and how it is printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from steadyhead.cli.logs_text import FINE, opened_register, who_does
from steadyhead.cli.showing import paragraph, show_json
from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError

if TYPE_CHECKING:
    from steadyhead.services.logs.keys import LoggerKeys


def do_keys(station: str, wanted: tuple[str, str], by: str, place: str, json: bool) -> int:
    """List the keys of a station's loggers; wanted: the logger one is made for, and the key that is ended."""
    from steadyhead.services.logs.keys import end_key, listed, make_key

    make, end = wanted
    if make and end:
        raise InputError("--end", "goes with no --make.", "Do one after the other.")
    secret = ""
    with opened_register(place) as register:
        if make:
            who = who_does(by, "Who makes this key?")
            _, secret = make_key(register, station, make, who)
        elif end:
            end_key(register, station, end, who_does(by, "Who ends this key?"))
        view = listed(register, station).model_copy(update={"secret": secret})
    if json:
        show_json(view.model_dump(mode="json"))
    else:
        put_file("\n".join(_lines(view)) + "\n")
    return FINE


def _lines(view: LoggerKeys) -> Iterator[str]:
    from steadyhead.services.page_words import called

    if view.secret:
        yield view.secret
        yield ""
        yield paragraph(
            "It is shown once: write it into the logger now. It permits to send files of this station and "
            "nothing else. Whoever has it can send false data: send it over an encrypted connection only."
        )
        yield ""
    for one in view.keys:
        used = f"last used {one.used}" if one.used else "not used yet"
        yield paragraph(f"{one.id}  {one.logger}: made {one.at[:10]} by {called(one.who)}; {used}", 4, "")
    if not view.keys:
        yield f"No logger of {view.station} has a key."
