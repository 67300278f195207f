"""Signing in and out, one's own password, how one reads, and the people of the team."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import accounts
from steadyhead.services import accounts as team
from steadyhead.services.accounts import TooManyTries
from steadyhead.units import SETS, UnitError, read_units
from steadyhead.web.answering import answer, done
from steadyhead.web.forms import Sent, Typed, takes
from steadyhead.web.reader import RANKS, Asks, Kept, Role
from steadyhead.web.rights import WORDS, needs
from steadyhead.web.saying import Problem, Said, problems_of, said_answer
from steadyhead.web.sessions import Reads, Sessions, keep_reading

router = APIRouter(tags=["people"])
UNIT_WORDS = {
    "metric": "bar, L/s, m", "metric-m3h": "bar, m³/h, m", "metric-kpa": "kPa, L/s, m", "uk": "bar, L/s",
    "us": "psi, gpm, ft",
}  # fmt: skip
LIGHT_WORDS = (
    ("", "as the device has it"), ("film", "film: by day"), ("lamp", "lamp: in the dark"),
    ("sun", "sun: in bright sun, most contrast"),
)  # fmt: skip


class Frozen(BaseModel):
    """Base of the views here."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class SignIn(Sent):
    """Name and password."""

    name: str = Field("", max_length=1000)
    password: str = Field("", max_length=1000)
    to: str = Field("/stations", max_length=2000)


class SignInView(Frozen):
    """The page to sign in on. is_needed: whether this app asks for an account at all."""

    is_needed: bool
    name: str = ""
    to: str = "/stations"
    problems: tuple[Problem, ...] = ()


class Reading(Sent):
    """How a person reads: a set of units, a light."""

    units: str = Field("metric", max_length=200)
    light: Literal["", "film", "lamp", "sun"] = ""


class NewPassword(Sent):
    """One's old password and the new one."""

    old: str = Field("", max_length=1000)
    new: str = Field("", max_length=1000)


class AccountView(Frozen):
    """Who one is, what one may do, how one reads."""

    name: str
    role: Role
    may: str
    is_alone: bool
    units: str
    light: str
    calendar: str = ""
    told: str = ""
    problems: tuple[Problem, ...] = ()


class Begin(Sent):
    """The password set by a link. key: what the link carries."""

    key: str = Field("", max_length=2000)
    password: str = Field("", max_length=1000)


class BeginView(Frozen):
    """The page on which a password is set once."""

    name: str
    key: str
    least_signs: int = team.LEAST_SIGNS
    problems: tuple[Problem, ...] = ()


class PersonView(Frozen):
    """A person of the team."""

    id: str
    name: str
    role: Role
    state: str
    since: str


class PeopleView(Frozen):
    """Everyone of the team. link: path of a page to set a password on, made just now, shown once."""

    is_alone: bool
    people: tuple[PersonView, ...] = ()
    link: str = ""
    link_for: str = ""
    name: str = ""
    role: Role = "look"
    problems: tuple[Problem, ...] = ()


class NewPerson(Sent):
    """A person to be added."""

    name: str = Field("", max_length=1000)
    role: Role = "look"


class NewRole(Sent):
    """The role a person gets."""

    role: Role


def sessions_of(request: Request) -> Sessions:
    """Return who signs people in here."""
    found: Sessions = request.app.state.sessions
    return found


def local(path: str) -> str:
    """Return an address of this app to go on to, with its query; else the list of stations."""
    is_ours = path.startswith("/") and not path.startswith("//") and "\\" not in path
    return path if is_ours and path.isprintable() else "/stations"


@router.get("/sign-in", responses={200: {"model": SignInView}})
def sign_in_page(request: Request, to: Annotated[str, Query(max_length=2000)] = "/stations") -> Response:
    """Ask for name and password."""
    view = SignInView(is_needed=sessions_of(request).is_team, to=local(to))
    return answer(request, "people/sign_in.html", view)


@router.post("/sign-in", openapi_extra=takes(SignIn), responses={200: {"model": SignInView}})
def sign_in(request: Request, register: Kept, form: Typed) -> Response:
    """Sign in; the attempt is counted before the password is tried."""
    sessions = sessions_of(request)
    sent = form.read(SignIn)
    view = SignInView(is_needed=sessions.is_team, name=sent.name, to=local(sent.to))
    if not sessions.is_team:
        return done(request, view, view.to, 200)
    try:
        account = team.sign_in(register, sent.name, sent.password, request.state.address)
    except TooManyTries:
        raise
    except InputError as error:
        return answer(
            request, "people/sign_in.html", view.model_copy(update={"problems": problems_of(error)}), 401
        )
    found = done(request, view, view.to, 200)
    sessions.begin(found, account)
    return found


@router.post("/sign-out", responses={200: {"model": SignInView}})
def sign_out(request: Request) -> Response:
    """End this session, here and for whoever has copied it."""
    sessions = sessions_of(request)
    found = done(request, SignInView(is_needed=sessions.is_team), "/sign-in", 200)
    sessions.end(request, found)
    return found


def _account_view(request: Request, reader: Asks, register: Kept) -> AccountView:
    calendar = ""
    if reader.account:
        with register.reading() as connection:
            found = accounts.by_id(connection, reader.account)
        calendar = f"/upkeep.ics?key={sessions_of(request).feed_key(found)}" if found else ""
    return AccountView(
        name=reader.called, role=reader.role, may=WORDS[reader.role], is_alone=reader.is_alone,
        units=reader.units.name, light=reader.light, calendar=calendar or "/upkeep.ics",
    )  # fmt: skip


def _show_account(request: Request, view: AccountView, status: int = 200) -> Response:
    sets = [(name, f"{name}: {UNIT_WORDS.get(name, '')}".rstrip(": ")) for name in SETS]
    if view.units not in SETS:
        sets.append((view.units, view.units))
    return answer(
        request, "people/account.html", view, status, sets=sets, lights=LIGHT_WORDS, home=_home(request)
    )


@router.get("/account", responses={200: {"model": AccountView}})
def account(request: Request, reader: Asks, register: Kept) -> Response:
    """Show who one is and how one reads."""
    return _show_account(request, _account_view(request, reader, register))


@router.post("/account/reading", openapi_extra=takes(Reading), responses={200: {"model": AccountView}})
def keep_my_reading(request: Request, reader: Asks, register: Kept, form: Typed) -> Response:
    """Keep units and light in this browser."""
    view = _account_view(request, reader, register)
    try:
        sent = form.read(Reading)
        units = read_units(sent.units)
    except InputErrors as errors:
        return _show_account(request, view.model_copy(update={"problems": problems_of(errors)}), 422)
    except UnitError as error:
        problem = Problem(field="units", problem=error.problem, remedy=error.remedy)
        return _show_account(request, view.model_copy(update={"problems": (problem,)}), 422)
    found = done(request, view.model_copy(update={"units": units.name, "light": sent.light}), "/account", 200)
    keep_reading(found, Reads(units.name, sent.light), is_secure=sessions_of(request).is_secure)
    return found


@router.post("/account/password", openapi_extra=takes(NewPassword), responses={200: {"model": AccountView}})
def change_password(request: Request, reader: Asks, register: Kept, form: Typed) -> Response:
    """Change one's own password; every other session of one's own ends."""
    view = _account_view(request, reader, register)
    if not reader.account:
        problem = Problem(
            field="old", problem="there is no account here.", remedy="Nobody signs in on this machine."
        )
        return _show_account(request, view.model_copy(update={"problems": (problem,)}), 422)
    try:
        sent = form.read(NewPassword)
        new = team.change_password(register, reader.account, sent.old, sent.new, request.state.address)
    except TooManyTries:
        raise
    except (InputError, InputErrors) as error:
        return _show_account(request, view.model_copy(update={"problems": problems_of(error)}), 422)
    told = view.model_copy(update={"told": "The password is changed. Every other session has ended."})
    found = _show_account(request, told)
    sessions_of(request).begin(found, new)
    return found


@router.get("/account/begin", responses={200: {"model": BeginView}})
def begin_page(request: Request, key: Annotated[str, Query(max_length=2000)] = "") -> Response:
    """Show the page on which a password is set once."""
    invited = sessions_of(request).invited(key)
    if invited is None:
        return _used_up(request)
    return answer(request, "people/begin.html", BeginView(name=invited.name, key=key))


@router.post("/account/begin", openapi_extra=takes(Begin), responses={200: {"model": BeginView}})
def begin(request: Request, register: Kept, form: Typed) -> Response:
    """Set a password by a link, and sign in."""
    sent = form.read(Begin)
    invited = sessions_of(request).invited(sent.key)
    if invited is None:
        return _used_up(request)
    view = BeginView(name=invited.name, key=sent.key)
    try:
        ready = team.set_password(register, invited, sent.password)
    except InputError as error:
        return answer(
            request, "people/begin.html", view.model_copy(update={"problems": problems_of(error)}), 422
        )
    found = done(request, view.model_copy(update={"key": ""}), "/stations", 200)
    sessions_of(request).begin(found, ready)
    return found


def _used_up(request: Request) -> Response:
    words = "The link to set a password is used up, too old, or not whole."
    return said_answer(
        request, Said(404, "No such link", words, "Ask for a new one; the people page makes it.")
    )


def _people(request: Request, register: Kept, **more: object) -> PeopleView:
    found = tuple(
        PersonView(id=one.id, name=one.name, role=one.role, state=one.state, since=one.since)
        for one in team.people(register)
    )
    return PeopleView(is_alone=not sessions_of(request).is_team, people=found).model_copy(update=more)


def _show_people(request: Request, view: PeopleView, status: int = 200) -> Response:
    roles = [(role, f"{role}: {WORDS[role]}") for role in RANKS]
    return answer(request, "people/people.html", view, status, roles=roles, home=_home(request))


def _home(request: Request) -> str:
    scheme = "https" if sessions_of(request).is_secure else "http"
    return f"{scheme}://{request.url.netloc}"


@router.get("/people", dependencies=[needs("administer")], responses={200: {"model": PeopleView}})
def people(request: Request, register: Kept) -> Response:
    """List the people of the team."""
    return _show_people(request, _people(request, register))


@router.post(
    "/people", dependencies=[needs("administer")], openapi_extra=takes(NewPerson), status_code=201,
    responses={201: {"model": PeopleView}},
)  # fmt: skip
def add(request: Request, reader: Asks, register: Kept, form: Typed) -> Response:
    """Add a person; the answer holds the link on which they set their password, shown once."""
    if not sessions_of(request).is_team:
        return _alone(request)
    try:
        sent = form.read(NewPerson)
        made = team.add(register, sent.name, sent.role, reader.name)
    except (InputError, InputErrors) as error:
        typed = {"name": form.texts.get("name", ""), "problems": problems_of(error)}
        return _show_people(request, _people(request, register, **typed), 422)
    return _with_link(request, register, made, 201)


@router.post(
    "/people/{person}/role", dependencies=[needs("administer")], openapi_extra=takes(NewRole),
    responses={200: {"model": PeopleView}},
)  # fmt: skip
def set_role(request: Request, reader: Asks, register: Kept, person: str, form: Typed) -> Response:
    """Give a person another role; their sessions end."""
    try:
        team.set_role(register, person, form.read(NewRole).role, reader.name)
    except (InputError, InputErrors) as error:
        return _show_people(request, _people(request, register, problems=problems_of(error)), 422)
    return done(request, _people(request, register), "/people", 200)


@router.post(
    "/people/{person}/suspend", dependencies=[needs("administer")], responses={200: {"model": PeopleView}}
)
def suspend(request: Request, reader: Asks, register: Kept, person: str) -> Response:
    """Suspend a person: their sessions end at once."""
    try:
        team.suspend(register, person, reader.name)
    except InputError as error:
        return _show_people(request, _people(request, register, problems=problems_of(error)), 422)
    return done(request, _people(request, register), "/people", 200)


@router.post(
    "/people/{person}/password", dependencies=[needs("administer")], responses={200: {"model": PeopleView}}
)
def new_link(request: Request, reader: Asks, register: Kept, person: str) -> Response:
    """Take a person's password away and make a link for a new one; lets a suspended one in again."""
    try:
        changed = team.renew(register, person, reader.name)
    except InputError as error:
        return _show_people(request, _people(request, register, problems=problems_of(error)), 422)
    return _with_link(request, register, changed, 200)


def _with_link(request: Request, register: Kept, person: accounts.Account, status: int) -> Response:
    link = sessions_of(request).link(person)
    return _show_people(request, _people(request, register, link=link, link_for=person.name), status)


def _alone(request: Request) -> Response:
    words = "Nobody signs in on this machine, so there are no people to add."
    remedy = "Start with: steadyhead serve --administrator NAME. The first person is then made."
    return said_answer(request, Said(409, "No team here", words, remedy))
