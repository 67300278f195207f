"""Open the app: a register, a held folder, a port, and whoever may come in."""

from __future__ import annotations

import ipaddress
import os
import re
import signal
import socket
import ssl
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any

from steadyhead.errors import InputError
from steadyhead.register import Register, open_register
from steadyhead.register.holding import Hold, hold
from steadyhead.web.addresses import is_number

if TYPE_CHECKING:
    from steadyhead.web.guarding import Door
    from steadyhead.web.sessions import Sessions
    from steadyhead.web.stages import Stages

PORT = 8711
"""Where the app opens if nothing else is asked for."""
FURTHER_PORTS = 20
"""Ports tried after the one asked for, before any free one."""
HERE = "127.0.0.1"
ON_IT = {"0.0.0.0": HERE, "::": "::1"}
"""Addresses that stand for all of this machine's, and the one it is opened under at the machine itself."""
ENDS_WITHIN = 3
"""Time that answers under way are given at the end. [s]"""
WORKER_AFTER = 3.0
"""When the process of long studies begins: after the first page, which it would slow. [s]"""
MOST_HOST = 253
"""Most signs of a host name (RFC 1123, section 2.1, with RFC 1035, section 2.3.4)."""
_LABEL = "(?!-)[A-Za-z0-9_-]{1,63}(?<!-)"
_HOST = re.compile(rf"{_LABEL}(?:\.{_LABEL})*\.?")
_PORT = re.compile(r":\d{1,5}$")
Tells = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Terms:
    """How the app is to be opened.

    place: folder of the embedded register, or URL of a server's; host, port: where it listens; names: further
    names it answers under; cert, key: files of the user's own certificate; proxy: whether a proxy that speaks
    TLS stands before it; browser: whether a browser is opened on it; worker: whether long studies are worked
    out in a process beside it; administrator: name of a person who is to administer.
    """

    place: str
    host: str = HERE
    port: int = PORT
    names: tuple[str, ...] = field(default_factory=tuple)
    cert: str = ""
    key: str = ""
    proxy: bool = False
    browser: bool = True
    worker: bool = True
    administrator: str = ""

    @property
    def is_server(self) -> bool:
        """Whether the register lies on a database server."""
        return "://" in self.place

    @property
    def is_everywhere(self) -> bool:
        """Whether it listens on every address of this machine."""
        return self.host in ON_IT

    @property
    def is_beyond(self) -> bool:
        """Whether others than this machine can reach the app."""
        return self.proxy or not is_loopback(self.host)


def refuse_no_host(name: str) -> None:
    """Refuse a name that no browser can ask for: a whole address, a path, a word with blanks.

    Raises
    ------
    InputError
        What was got, and what `--name` takes.
    """
    host = name if is_number(name) else _PORT.sub("", name)
    bare = host[1:-1] if host.startswith("[") and host.endswith("]") else host
    if len(host) <= MOST_HOST and (is_number(bare) or _HOST.fullmatch(host)):
        return
    raise InputError(
        "--name", f"got {name[:60]!r}.",
        "It takes a host name or a number, as stations.example or 192.0.2.7, without http:// and path.",
    )  # fmt: skip


def default_folder() -> Path:
    """Return the folder of the register where none is named."""
    from steadyhead.services import signing

    return signing.folder() / "register"


def is_loopback(host: str) -> bool:
    """Return whether only this machine reaches an address."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host.casefold() == "localhost"


@contextmanager
def opened(terms: Terms) -> Iterator[Register]:
    """Give the register of the terms, held for this process alone where it is embedded.

    Raises
    ------
    InputError
        Another process holds the folder, or it cannot be opened.
    """
    held: Hold | None = None if terms.is_server else hold(Path(terms.place))
    try:
        register = open_register(terms.place)
        try:
            yield register
        finally:
            register.close()
    finally:
        if held is not None:
            held.let_go()


def may_open(register: Register, terms: Terms) -> None:
    """Refuse to open beyond this machine without accounts and encryption.

    Raises
    ------
    InputError
        What is missing, with what to do.
    """
    if bool(terms.cert) != bool(terms.key):
        raise InputError(
            "--cert" if terms.key else "--key", "is left out.", "Name both, the certificate and its key."
        )
    if terms.cert:
        _try_certificate(terms.cert, terms.key)
    if not terms.is_beyond:
        return
    if not terms.proxy and not terms.cert:
        raise InputError(
            "--host", f"{terms.host} can be reached from other machines, and nothing encrypts what is sent.",
            "Give a certificate of yours by --cert and --key, or put a proxy before it and say --proxy.",
        )  # fmt: skip
    if terms.proxy and not terms.names:
        raise InputError(
            "--proxy", "needs the name under which people open the app.", "Give it by --name NAME."
        )
    from steadyhead.services import accounts

    if not accounts.has_administrator(register):
        raise _nobody_administers(terms)


def _nobody_administers(terms: Terms) -> InputError:
    """Return what is said where others are let in by the options given, and no account could let them in."""
    given = [*(["--host"] if not is_loopback(terms.host) else []), *(["--proxy"] if terms.proxy else [])]
    place = "--database URL" if terms.is_server else "FOLDER"
    options = " and ".join(given)
    return InputError(
        given[0], "lets other machines reach the app, and nobody can administer yet.",
        f"Make the first person without {options}: steadyhead serve {place} --administrator NAME. "
        f"Set the password by the link it tells, then serve with {options}.",
    )  # fmt: skip


def _try_certificate(cert: str, key: str) -> None:
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(cert, key, password=lambda: "")
    except FileNotFoundError as problem:
        raise InputError(
            "--cert", f"{problem.filename or cert} is not there.", "Name a file that is."
        ) from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "reason", None) or problem
        raise InputError(
            "--cert", f"certificate and key cannot be used together ({reason}).",
            "Name a PEM file of the certificate with its chain, and the unlocked key that belongs to it.",
        ) from None  # fmt: skip


def door_of(terms: Terms) -> Door:
    """Return the names under which the app answers."""
    from steadyhead.web.guarding import Door, host_name

    names = {host_name(one) for one in terms.names}
    beyond = not is_loopback(terms.host)
    if not beyond:
        names.add(host_name(terms.host))
    else:
        names |= {socket.gethostname().casefold(), host_name(terms.host)}
    if terms.cert:
        names |= _names_in(Path(terms.cert))
    return Door(frozenset(names - {""}), beyond, bool(terms.cert), terms.proxy)


def _names_in(path: Path) -> set[str]:
    """Return the names a certificate is made out to."""
    from cryptography import x509

    found = x509.load_pem_x509_certificate(path.read_bytes())
    with suppress(x509.ExtensionNotFound):
        told = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        addresses = {str(one) for one in told.get_values_for_type(x509.IPAddress)}
        return {name.casefold() for name in told.get_values_for_type(x509.DNSName)} | addresses
    return set()


def listen(host: str, port: int) -> tuple[socket.socket, int]:
    """Return a listening socket and its port; the next free one where the port is taken.

    Raises
    ------
    InputError
        The address is not of this machine, or no port can be had.
    """
    problem: OSError | None = None
    for one in (port, *range(port + 1, min(port + FURTHER_PORTS, 65_535)), 0):
        try:
            return _listening(host, one)
        except (OSError, OverflowError) as error:
            problem = error if isinstance(error, OSError) else None
            if isinstance(error, socket.gaierror):
                break
    words = (problem.strerror if problem else "") or "no such address"
    raise InputError("--host", f"{host} cannot be listened on: {words}.", "Name an address of this machine.")


def _listening(host: str, port: int) -> tuple[socket.socket, int]:
    family, kind, number, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    found = socket.socket(family, kind, number)
    try:
        if sys.platform != "win32":
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind(address)
        found.listen(128)
    except OSError:
        found.close()
        raise
    return found, int(found.getsockname()[1])


def serve(register: Register, terms: Terms, tells: Tells, link: str = "") -> None:
    """Serve until told to end.

    register: open and held, see `opened`; tells: is given lines for the person who started it; link: account
    whose link to set a password is printed.
    """
    from steadyhead.web.app import make_sessions, make_staged

    door = door_of(terms)
    sessions = make_sessions(register, door)
    app = make_staged(register, door, sessions)
    heard, port = listen(terms.host, terms.port)
    if port != terms.port:
        tells(f"Port {terms.port} is taken; another one is used.")
    home = _home(terms, port)
    tells(f"steadyhead is open at {home} (register: {shown_place(terms)}). Ctrl+C ends it.")
    if terms.is_beyond:
        tells(_how_others_reach(terms, port))
    if link:
        tells(f"Link to set the password, once: {home.rstrip('/')}{_link(sessions, register, link)}")
    if terms.browser:
        _open_browser(home)
    soon = app.begin_soon()
    with heard, _worker(terms):
        _run(app, heard, terms)
    soon.cancel()
    tells("Ended. Everything that was acknowledged is kept.")


def shown_place(terms: Terms) -> str:
    """Return where the register lies, without the password of a server."""
    if not terms.is_server:
        return str(Path(terms.place).resolve())
    scheme, _, rest = terms.place.partition("://")
    return f"{scheme}://{rest.rpartition('@')[2].partition('?')[0]}"


def _home(terms: Terms, port: int) -> str:
    scheme = "https" if terms.cert else "http"
    name = terms.names[0] if terms.is_everywhere and terms.names else terms.host
    name = ON_IT.get(name, name) if is_number(name.strip("[]")) else _PORT.sub("", name)
    name = name.strip("[]")
    return f"{scheme}://[{name}]:{port}/" if ":" in name else f"{scheme}://{name}:{port}/"


def _how_others_reach(terms: Terms, port: int) -> str:
    """Return what is said of people at other machines; the name of this one is not guessed."""
    if terms.is_everywhere and not terms.names and not terms.proxy:
        return (
            f"Others reach it under a name or number of this machine, port {port}, and everybody signs in. "
            "Give the name in your certificate by --name NAME, and it is printed here."
        )
    return "Others reach it too; everybody signs in."


def _link(sessions: Sessions, register: Register, account: str) -> str:
    from steadyhead.register import accounts

    with register.reading() as connection:
        found = accounts.by_id(connection, account)
    assert found is not None
    return sessions.link(found)


def _open_browser(home: str) -> None:
    has_screen = (
        sys.platform in ("win32", "darwin") or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    )
    if has_screen:
        import webbrowser

        threading.Timer(0.3, webbrowser.open, [home]).start()


@contextmanager
def _worker(terms: Terms) -> Iterator[None]:
    """Have a process of low priority beside, which works out long studies."""
    if not terms.worker:
        yield
        return
    from steadyhead.services.jobs.process import WorkerHandle, start_worker

    begun: list[WorkerHandle] = []
    is_over = threading.Event()

    def begin() -> None:
        if not is_over.wait(WORKER_AFTER):
            begun.append(start_worker(terms.place))

    beginning = threading.Thread(target=begin, name="begins the worker", daemon=True)
    beginning.start()
    try:
        yield
    finally:
        is_over.set()
        beginning.join()
        for one in begun:
            one.stop()


def _run(app: Stages, heard: socket.socket, terms: Terms) -> None:
    import uvicorn

    more: dict[str, Any] = {"ssl_certfile": terms.cert, "ssl_keyfile": terms.key} if terms.cert else {}
    config = uvicorn.Config(
        app, http="h11", ws="none", lifespan="off", log_config=None, access_log=False, server_header=False,
        proxy_headers=False, timeout_graceful_shutdown=ENDS_WITHIN, backlog=128, **more,
    )  # fmt: skip
    with _ends_on_term(), suppress(KeyboardInterrupt):
        uvicorn.Server(config).run(sockets=[heard])


@contextmanager
def _ends_on_term() -> Iterator[None]:
    """Let a request to end from the system end the app as Ctrl+C does."""

    def end(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, end)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
