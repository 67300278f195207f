"""Visits of a station: begun on a plan, entries taken in, judged and drawn, certified."""

from __future__ import annotations

import re
import shlex
from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response
from markupsafe import Markup
from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import InputError, InputErrors
from steadyhead.findings import tell
from steadyhead.records.entry import VERBS
from steadyhead.services.certificates.making import NotCertified
from steadyhead.services.entering import Stamp
from steadyhead.services.field import preparing
from steadyhead.services.visits_kept import baselines, certificates, judged, runs, trips
from steadyhead.services.visits_kept.run_rows import entries_of, files_of, one_run
from steadyhead.services.visits_kept.showing import entries_view, run_view, runs_view
from steadyhead.services.visits_kept.views import EntriesView, OneRunView, RunsView
from steadyhead.web.answering import answer, done, wants_json
from steadyhead.web.forms import Form, Sent, Typed
from steadyhead.web.giving import file_of, takes_both
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import needs
from steadyhead.web.saying import Problem, problems_of, to_show

router = APIRouter(tags=["visits"])
FIELDS = {"--who": "who", "--at": "at", "--device": "device", "step": "words"}
"""Names under which the command line tells what the form calls otherwise."""
LONGEST_NAME = 120
"""Most signs of a photo's name. Own estimate."""
Width = Annotated[str, Query(max_length=10, description="wide or narrow, of the picture.")]
As = Annotated[str, Query(alias="as", max_length=10, description="json, or svg for the picture.")]
Report = Annotated[str, Query(max_length=10, description="trip: the form to report one is open.")]
Chosen = Annotated[str, Query(max_length=60, description="Step shown in place of the next one.")]
From = Annotated[int, Query(alias="from", ge=1, le=1_000_000, description="Number of the first entry.")]


class Beginning(Sent):
    """Something new at a station's visits. act says what; the other fields belong to it.

    begin: plan, person, role, purpose. trip: since, valve, known_by, words. take: a file of entries.
    """

    act: Literal["begin", "trip", "take"]
    plan: str = Field("", max_length=60)
    person: str = Field("", max_length=120)
    role: str = Field("", max_length=120)
    purpose: str = Field("", max_length=400)
    since: str = Field("", max_length=40)
    valve: str = Field("", max_length=40)
    known_by: str = Field("else", max_length=20)
    words: str = Field("", max_length=400)


class Entering(Sent):
    """Entries of a visit. act says what; the other fields belong to it.

    enter: words, as after ``run enter``, e.g. ``F1.SO hold=5.17 bar with=TG-07``; who, at, device. seen: how
    many entries the page showed; the same is not entered twice behind them. A photo is a file of the form.
    choice: a choice that goes before them, as E0.RV choose set.
    take: a file of entries, in a form. leave: why it is not gone on with. certify, fit: nothing more.
    """

    act: Literal["enter", "take", "leave", "certify", "fit"]
    words: str = Field("", max_length=20_000)
    who: str = Field("", max_length=120)
    at: str = Field("", max_length=60)
    device: str = Field("", max_length=60)
    choice: str = Field("", max_length=400)
    seen: int = Field(0, ge=0, le=1_000_000)
    why: str = Field("", max_length=400)


class Begun(BaseModel):
    """What was begun or kept: id of the run or trip; of a file how many entries and photos are new."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    new: int = 0
    known: int = 0
    refused: tuple[str, ...] = ()
    photos: int = 0


class EnteredView(BaseModel):
    """What was entered and what it means: what is amiss now, what changed, what comes next.

    unfinished: steps of these entries at which something is still to be noted.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    count: int
    first: int
    bands: tuple[str, ...] = ()
    amiss: tuple[str, ...] = ()
    worth_knowing: tuple[str, ...] = ()
    proofs: tuple[str, ...] = ()
    unfinished: tuple[str, ...] = ()
    next: tuple[str, ...] = ()


@router.get("/stations/{key}/runs", responses={200: {"model": RunsView}})
def of_station(request: Request, register: Kept, reader: Asks, key: str, report: Report = "") -> Response:
    """List the visits of a station, those open first; begin one, or report a trip."""
    return _list(request, register, reader, key, asks_trip=report == "trip")


def _list(
    request: Request,
    register: Kept,
    reader: Reader,
    key: str,
    form: Form | None = None,
    errors: Any = (),
    status: int = 200,
    *,
    asks_trip: bool = False,
) -> Response:
    view = runs_view(register, key, units=reader.units)
    typed = dict(form.texts) if form is not None else {}
    offset = datetime.now().astimezone().isoformat()[-6:]
    more = {"asks_trip": asks_trip, "clock_offset": offset}
    return answer(request, "visits/runs.html", view, status, form=typed, errors=errors, **more)


@router.post(
    "/stations/{key}/runs",
    dependencies=[needs("record")],
    status_code=201,
    responses={201: {"model": Begun}},
    openapi_extra=takes_both(Beginning, "entries"),
)
def begin(request: Request, register: Kept, reader: Asks, key: str, form: Typed) -> Response:
    """Begin a visit on a plan, or from a file of entries made elsewhere; or report a trip."""
    try:
        asked = form.read(Beginning)
        if asked.act == "trip":
            kept = trips.report_trip(
                register,
                key,
                asked.since,
                reader.name,
                valve=asked.valve,
                known_by=asked.known_by,
                words=asked.words,
            )
            return done(request, Begun(id=kept.id), f"/stations/{key}/runs")
        if asked.act == "take":
            content = form.file("entries")[1]
            found = runs.begin_from(register, key, content, reader.name, asked.plan)
            _make_ready(register, key, found.run, reader)
            preparing.begin(register, key, found.run, reader.units, reader.name)
            return done(request, _taken(found), f"/stations/{key}/runs/{found.run}")
        of = runs.begin(
            register,
            key,
            asked.plan,
            reader.name,
            person=asked.person,
            role=asked.role,
            purpose=asked.purpose,
        )
        _make_ready(register, key, of.id, reader)
        preparing.begin(register, key, of.id, reader.units, reader.name)
    except (InputError, InputErrors) as problem:
        return _list(request, register, reader, key, form, to_show(request, form, problem), 422)
    return done(request, Begun(id=of.id), f"/stations/{key}/runs/{of.id}")


def _taken(found: runs.TakenIn) -> Begun:
    refused = tuple(f"line {one.line}: {one.why}" for one in found.refused)
    return Begun(id=found.run, new=found.new, known=found.known, refused=refused, photos=found.photos)


def _not_taken(found: runs.TakenIn) -> Any:
    """Return what the page says of a file of which entries were refused."""
    told = "; ".join(dict.fromkeys(one.why.rstrip(".") for one in found.refused))
    count = f"{found.new} taken in, {found.known} here already; of the others, line "
    first = InputError(
        "entries", f"{count}{found.refused[0].line} first: {told:.300}.",
        "What was refused is kept to be read. Entries of another visit are taken in on the station's page of "
        "visits.",
    )  # fmt: skip
    return problems_of(first)


def _make_ready(register: Kept, key: str, run: str, reader: Reader) -> None:
    """Judge and draw a run now, so that the page that follows only shows it."""
    judged.judged_run_view(register, key, run, reader.units)


@router.get("/stations/{key}/runs/{run}", responses={200: {"model": OneRunView}})
def one(
    request: Request,
    register: Kept,
    reader: Asks,
    key: str,
    run: str,
    as_: As = "",
    width: Width = "wide",
    step: Chosen = "",
) -> Response:
    """Show a visit: what stands against final, the next step, proofs, steps; `as=svg`: its proof score."""
    if as_ == "svg":
        return _picture(register, reader, key, run, width)
    return _page(request, register, reader, key, run, step=step)


def _picture(register: Kept, reader: Reader, key: str, run: str, width: str) -> Response:
    with register.reading() as connection:
        of = one_run(connection, key, run)
    view = judged.JudgedView.model_validate_json(judged.judged_view_of(register, of, reader.units))
    drawn = view.score_narrow if width == "narrow" else view.score_wide
    return Response(drawn, media_type="image/svg+xml")


def _page(
    request: Request,
    register: Kept,
    reader: Reader,
    key: str,
    run: str,
    form: Form | None = None,
    errors: Any = (),
    said: EnteredView | None = None,
    refused: Any = (),
    status: int = 200,
    *,
    step: str = "",
) -> Response:
    view = run_view(register, key, run, reader.units, step=step)
    return answer(
        request,
        "visits/run.html",
        view,
        status,
        form=dict(form.texts) if form is not None else {},
        errors=errors,
        said=said,
        refused=refused,
        verbs=VERBS,
        wide=Markup(view.judged.score_wide),
        middle=Markup(view.judged.score_middle),
        narrow=Markup(view.judged.score_narrow),
    )


@router.post(
    "/stations/{key}/runs/{run}",
    dependencies=[needs("record")],
    status_code=201,
    responses={201: {"model": Begun | EnteredView}},
    openapi_extra=takes_both(Entering, "entries"),
)
def enter(request: Request, register: Kept, reader: Asks, key: str, run: str, form: Typed) -> Response:
    """Enter what was done, read or seen; take a file of entries in; certify the visit; fit the twin to it."""
    here = f"/stations/{key}/runs/{run}"
    try:
        asked = form.read(Entering) if form.is_json else form_asked(form)
        if asked.act == "take":
            found = runs.take_in(register, key, run, form.file("entries")[1], reader.name)
            _make_ready(register, key, run, reader)
            if found.refused and not wants_json(request):
                return _page(request, register, reader, key, run, form, _not_taken(found), status=422)
            return done(request, _taken(found), f"{here}#entries")
        if asked.act == "leave":
            runs.leave_off(register, key, run, asked.why, reader.name)
            return done(request, Begun(id=run), f"/stations/{key}/runs")
        if asked.act == "certify":
            _may(reader, "engineer")
            made = certificates.certify(register, key, run, reader.name, units=reader.units)
            _fit(register, key, run, reader)
            return done(request, Begun(id=made.filed.id), f"/stations/{key}/records/{made.filed.id}")
        if asked.act == "fit":
            _may(reader, "engineer")
            fitted = baselines.fit(register, key, run, reader.name)
            return done(request, Begun(id=fitted.id if fitted else ""), f"/stations/{key}/records#baselines")
        told = _entered(register, reader, key, run, asked, form)
    except NotCertified as refusal:
        if form.is_json or wants_json(request):
            raise
        told_ = [tell(each, reader.units) for each in refusal.findings]
        return _page(request, register, reader, key, run, form, (), None, told_, 422)
    except (InputError, InputErrors) as problem:
        shown = _beside(to_show(request, form, _as_sent(problem)), form)
        return _page(request, register, reader, key, run, form, shown, None, (), 422, step=_step_of(form))
    if wants_json(request):
        return done(request, told, here)
    stays = _step_of(form) if _step_of(form) in told.unfinished else ""
    return _page(request, register, reader, key, run, None, (), told, step=stays)


def _step_of(form: Form) -> str:
    """Return the step whose form was sent; empty where it was another form of the page."""
    return str(form.texts.get("step", "")).strip()[:60]


def form_asked(form: Form) -> Entering:
    """Return what a form of a step asks: its own answers, one field each, become the words of an entry.

    ``a.@choice``: the option chosen; ``a.@head``: what stands before the answers, as the number of an entry.
    """
    texts = dict(form.texts)
    step = texts.pop("step", "").strip()
    answers = {name[2:]: text for name, text in texts.items() if name.startswith("a.") and text.strip()}
    pictures = {name[2:]: one for name, one in form.files.items() if name.startswith("a.") and one.filename}
    answers |= {name: _called(one.filename) for name, one in pictures.items()}
    kept = {name: text for name, text in texts.items() if not name.startswith("a.")}
    if step and not kept.get("words", "").strip():
        choice, head = answers.pop("@choice", ""), answers.pop("@head", "")
        start = [step, head.strip()] if head else [step]
        told = [f"{name}={text}" for name, text in answers.items()]
        chosen = shlex.join([step, "choose", choice]) if choice else ""
        kept["words"] = shlex.join([*start, *told]) if told or head else chosen or shlex.join([step, "done"])
        kept |= {"choice": chosen} if chosen and told else {}
    return Form(kept, {}, form.files).read(Entering)


def _called(name: str | None) -> str:
    """Return the name of a picture without its folders."""
    return re.split(r"[\\/]", name or "")[-1][:LONGEST_NAME] or "photo"


def _pictures(form: Form) -> dict[str, bytes]:
    """Return the photos of a form by their names; each is one that an entry may name."""
    sent = (one for name, one in form.files.items() if name == "photo" or name.startswith("a."))
    return {_called(one.filename): one.file.read() for one in sent if one.filename}


def _words(text: str) -> list[str]:
    """Return the words of an entry as a terminal would take them; a lone quote is a sign like others."""
    try:
        found = shlex.split(text)
    except ValueError:
        found = text.split()
    if not found:
        raise InputError("words", "say nothing.", "Write e.g. F1.SO hold=5.17 bar with=TG-07, or note WORDS.")
    return found


def _entered(register: Kept, reader: Reader, key: str, run: str, asked: Entering, form: Form) -> EnteredView:
    own = "" if reader.is_alone else reader.name
    stamp = Stamp(asked.who.strip() or own, asked.device.strip() or "register", asked.at.strip(), own)
    words = _words(asked.words)
    found = runs.enter(
        register,
        key,
        run,
        words,
        reader.name,
        stamp,
        pictures=_pictures(form),
        seen=asked.seen,
        ahead=_words(asked.choice) if asked.choice.strip() else (),
    )
    _make_ready(register, key, run, reader)
    plan = found.after.procedure
    return EnteredView(
        count=len(found.entries),
        first=found.first,
        bands=tuple(_band(one, reader) for one in found.bands),
        amiss=tuple(f"{one.code}  {tell(one, reader.units).statement}" for one in found.amiss(reader.units)),
        worth_knowing=(
            *found.other_units,
            *(tell(one, reader.units).statement for one in found.worth_knowing(reader.units)),
        ),
        proofs=tuple(
            f"{name}: {now}" for name, was, now in found.proofs if "not on this way" not in (was, now)
        ),
        unfinished=tuple(one.id for one in found.steps if one.state in ("open", "refused") and one.lacks),
        next=tuple(node.id for node in plan.nodes if node.id in found.after.judgement.next[:3]),
    )


def _band(one: Any, reader: Reader) -> str:
    from steadyhead.visits.certifying.seen import in_words
    from steadyhead.visits.texts.saying import band_words, edges

    band = band_words(*edges(one.low, one.high, one.quantity, reader.units))
    value = in_words(one.value, one.quantity, reader.units)
    where = "on the way, below" if one.is_on_way else "inside" if one.is_inside else "OUTSIDE"
    other = f" In {one.unit} it would lie inside: if that was meant, correct it." if one.unit else ""
    return f"{one.input} {value}: {where} {band}.{other}"


def _may(reader: Reader, role: Literal["engineer"]) -> None:
    from steadyhead.web.rights import NotAllowed

    if not reader.may(role):
        raise NotAllowed(role, reader.role)


def _fit(register: Kept, key: str, run: str, reader: Reader) -> None:
    """Fit the twin to a certified run; one that is provisional or determines nothing has no baseline."""
    try:
        baselines.fit(register, key, run, reader.name)
    except (InputError, InputErrors):
        return


def _as_sent(problem: InputError | InputErrors) -> InputErrors:
    """Return problems under the names that are sent here, not those of the command line."""
    errors = problem.errors if isinstance(problem, InputErrors) else (problem,)
    named = ((one.field.removeprefix("--"), one) for one in errors)
    return InputErrors([InputError(name, one.problem, one.remedy) for name, one in named])


def _beside(problems: tuple[Problem, ...], form: Form) -> Any:
    """Return the problems beside the fields of the form, those of a step beside what it asks for."""
    found = []
    sent = {*form.texts, *form.files}
    for one in problems:
        name = FIELDS.get(one.field, one.field)
        name = f"a.{name}" if f"a.{name}" in sent else name
        known = name in ("who", "at", "device", "words", "entries", "why") or name.startswith("a.")
        found.append(
            one.model_copy(
                update={
                    "field": name if known else "words",
                    "problem": one.problem if known else f"{one.field} {one.problem}",
                }
            )
        )
    return tuple(found)


@router.get("/stations/{key}/runs/{run}/entries", responses={200: {"model": EntriesView}})
def entries(request: Request, register: Kept, reader: Asks, key: str, run: str, begin: From = 1) -> Response:
    """List the entries of a visit by number."""
    view = entries_view(register, key, run, begin, reader.units)
    return answer(request, "visits/entries.html", view)


@router.get("/stations/{key}/runs/{run}/entries.jsonl", response_class=Response)
def entries_file(register: Kept, key: str, run: str) -> Response:
    """Give the entries of a visit out as a file, every line as it came."""
    with register.reading() as connection:
        of = one_run(connection, key, run)
        content = entries_of(connection, of.id)
    return file_of(f"{key}-{of.kind}.jsonl", "application/jsonl", content)


@router.get("/stations/{key}/runs/{run}/plan", response_class=Response)
def plan_file(register: Kept, key: str, run: str) -> Response:
    """Give the plan of a visit out as a file."""
    with register.reading() as connection:
        of = one_run(connection, key, run)
        content = files_of(connection, of)[0]
    return file_of(f"{key}-{of.kind}.plan", "text/plain", content)
