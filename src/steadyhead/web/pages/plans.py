"""Plans of a station: made for a visit, kept as record, paper and text."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import InputError, InputErrors
from steadyhead.findings import Finding, tell
from steadyhead.services.planning import NoPlan
from steadyhead.services.visits_kept import plans
from steadyhead.services.visits_kept.filing import one_filed
from steadyhead.services.visits_kept.showing import plans_view
from steadyhead.services.visits_kept.views import PlansView
from steadyhead.web.answering import answer, done, wants_json
from steadyhead.web.forms import Form, Sent, Typed, takes
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import needs
from steadyhead.web.saying import Problem, problems_of, to_show

router = APIRouter(tags=["visits"])
Key = Annotated[str, Field(max_length=60)]


class Planning(Sent):
    """A visit to be planned. visit: as ``first``, ``after-repair``; item: what was repaired or set."""

    visit: str = Field(max_length=40)
    item: str = Field("", max_length=120)


class PlanMade(BaseModel):
    """The plan that was made or taken in: its record, revision of the design, what stood against it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    title: str
    revision: int
    against: int


@router.get("/stations/{key}/plans", responses={200: {"model": PlansView}})
def of_station(request: Request, register: Kept, reader: Asks, key: str) -> Response:
    """List the plans of a station, those of an older design told."""
    return _page(request, register, reader, key)


def _page(
    request: Request,
    register: Kept,
    reader: Reader,
    key: str,
    form: Form | None = None,
    errors: Any = (),
    findings: Any = (),
    status: int = 200,
) -> Response:
    view = plans_view(register, key, units=reader.units)
    typed = dict(form.texts) if form is not None else {}
    return answer(request, "visits/plans.html", view, status, form=typed, errors=errors, findings=findings)


def no_plan(
    request: Request, register: Kept, reader: Reader, key: str, findings: tuple[Finding, ...]
) -> Response:
    """Return the page of the plans with what forbids one, and what cures it."""
    return _page(request, register, reader, key, findings=[tell(one, reader.units) for one in findings])


@router.post(
    "/stations/{key}/plans",
    dependencies=[needs("engineer")],
    status_code=201,
    responses={201: {"model": PlanMade}},
    openapi_extra=takes(Planning),
)
def make(request: Request, register: Kept, reader: Asks, key: str, form: Typed) -> Response:
    """Make a plan from the last revision of the station file, or take a plan file in; keep it."""
    try:
        if "plan" in form.files:
            kept = plans.take_plan(register, key, form.file("plan")[1], reader.name)
            told = PlanMade(id=kept.id, title=kept.title, revision=0, against=0)
        else:
            asked = form.read(Planning)
            made = plans.make(register, key, asked.visit, asked.item, reader.name, units=reader.units)
            told = PlanMade(
                id=made.record.id, title=made.record.title, revision=made.revision, against=made.against
            )
    except NoPlan as refused:
        if form.is_json or wants_json(request):
            raise refused.told(reader.units) from None
        told_ = [tell(one, reader.units) for one in refused.findings]
        return _page(request, register, reader, key, form, problems_of(refused), told_, 422)
    except (InputError, InputErrors) as problem:
        shown = _beside(to_show(request, form, problem), form)
        return _page(request, register, reader, key, form, shown, (), 422)
    return done(request, told, f"/stations/{key}/plans#p-{told.id}")


def _beside(told: tuple[Problem, ...], form: Form) -> tuple[Problem, ...]:
    """Return the problems beside the fields of the form; where no item was typed the visit is at fault."""
    if form.texts.get("item", "").strip():
        return told
    return tuple(one.model_copy(update={"field": "visit"}) if one.field == "item" else one for one in told)


@router.get("/stations/{key}/plans/{plan}", response_class=Response)
def one(register: Kept, key: str, plan: str) -> Response:
    """Give a plan out as it is kept: the plan file, its paper, or its text, by the id of the record."""
    from steadyhead.services.visits_kept.filing import content_of
    from steadyhead.web.giving import given_out

    with register.reading() as connection:
        kept = one_filed(connection, key, plan)
    return given_out(kept, content_of(register, kept))
