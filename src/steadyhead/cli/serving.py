"""The command that opens the app."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from steadyhead.cli.options import LoggerFolder
from steadyhead.cli.progress import say, watched
from steadyhead.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

    from steadyhead.cli.progress import Shown
    from steadyhead.register import Register
    from steadyhead.web.serving import Terms

app = typer.Typer(rich_markup_mode=None)


@app.command()
def serve(
    folder: Annotated[
        str,
        typer.Argument(metavar="[FOLDER]", help="Where the register lies; a folder of yours where left out."),
    ] = "",
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="Where it listens.")] = 8711,
    host: Annotated[
        str,
        typer.Option("--host", metavar="ADDRESS", help="Whom it answers; this machine alone where left out."),
    ] = "127.0.0.1",
    name: Annotated[
        list[str] | None,
        typer.Option("--name", metavar="NAME", help="A further name it is opened under; may be repeated."),
    ] = None,
    example: Annotated[
        bool, typer.Option("--example", help="Fill an empty register with a year of example stations.")
    ] = False,
    database: Annotated[
        str, typer.Option("--database", metavar="URL", help="A PostgreSQL server instead of a folder.")
    ] = "",
    data: LoggerFolder = "",
    cert: Annotated[
        str, typer.Option("--cert", metavar="FILE", help="Certificate of yours, with its chain (PEM).")
    ] = "",
    key: Annotated[str, typer.Option("--key", metavar="FILE", help="The key that belongs to it (PEM).")] = "",
    proxy: Annotated[
        bool, typer.Option("--proxy", help="A proxy of yours stands before it and encrypts.")
    ] = False,
    administrator: Annotated[
        str | None,
        typer.Option("--administrator", metavar="NAME", help="Make the person who looks after the others."),
    ] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Open no browser.")] = False,
) -> int:
    """Open the app: every station in one place, in a browser.

    Alone on this machine nobody signs in. Others are let in only by accounts (--administrator), and only
    encrypted (--cert and --key, or --proxy).

    Exit status 0 when it was ended, 2 where it cannot be opened.
    """
    from steadyhead.web.serving import Terms, default_folder, may_open, opened, refuse_no_host
    from steadyhead.web.serving import serve as serve_it

    if administrator is not None:
        from steadyhead.services.names import one_line

        one_line("--administrator", administrator)
    for one in name or ():
        refuse_no_host(one)
    if folder and database:
        raise InputError("--database", "stands beside a folder.", "Name one of them.")
    if database:
        from steadyhead.register.opening import refuse_other_servers

        refuse_other_servers(database, "--database")
    terms = Terms(
        place=database or folder or str(default_folder()), host=host, port=port, names=tuple(name or ()),
        cert=cert, key=key, proxy=proxy, browser=not no_browser, administrator=administrator or "",
    )  # fmt: skip
    with opened(terms) as register:
        if data:
            from steadyhead.register.logs import logs_folder

            logs_folder(register, data)
        link = _administrator(register, terms)
        may_open(register, terms)
        if example:
            _fill(register)
        serve_it(register, terms, say, link)
    return 0


def _administrator(register: Register, terms: Terms) -> str:
    """Make the first administrator; return the account whose link is printed, where no password was typed."""
    if not terms.administrator:
        return ""
    from steadyhead.services import accounts

    person = accounts.first_administrator(register, terms.administrator)
    if not sys.stdin.isatty():
        return person.id
    if person.state == "active" and not typer.confirm(
        f"{person.name} has a password. Set a new one?", default=False
    ):
        return ""
    while True:
        typed = typer.prompt("Password", hide_input=True, confirmation_prompt=True)
        try:
            accounts.set_password(register, person, typed, "this machine")
        except InputError as error:
            say(f"{error.problem} {error.remedy}")
        else:
            return ""


def _fill(register: Register) -> None:
    """Fill an empty register with the example year."""
    from sqlalchemy import select

    from steadyhead.register.tables import station
    from steadyhead.services.example_year import fill
    from steadyhead.services.example_year.stories import STORIES
    from steadyhead.services.first_use import tell_first_use

    with register.reading() as connection:
        is_empty = connection.execute(select(station.c.key).limit(1)).first() is None
    if not is_empty:
        raise InputError(
            "--example", "the register holds stations already.", "Leave it out, or name an empty folder."
        )
    say("Fills the register with a year of example stations. Where it is stopped, name another next time.")
    tell_first_use(say)
    with watched() as shown:
        fill(register, _told_by_station(shown, len(STORIES)))


def _told_by_station(shown: Shown, total: int) -> Callable[[float, str], None]:
    """Return what tells which station is filled in, of how many; into a file line by line."""

    def told(share: float, what: str) -> None:
        at = round(share * total)
        words = f"station {at + 1} of {total}: {what}" if at < total else what
        if shown.is_watched:
            shown.at_once(at, total, words)
        elif at < total:
            say(f"  {words}")

    return told
