"""What a study is asked with: values as typed, with their defaults and where those come from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import InputError, InputErrors
from steadyhead.services.studies.offer import OfferView
from steadyhead.units import UnitError, parse

StudyKind = Literal["surge", "proof", "closing", "stability", "chances"]
FEWEST_RUNS, MOST_RUNS = 16, 20_000
FEWEST_MEMBERS, MOST_MEMBERS = 8, 1_000
LARGEST_SEED = 2**31 - 1
USUAL_RUNS: Final = 200
"""Runs of a chance where nobody says how many: a share of 5 % is then known within 3 %. Own estimate."""
USUAL_MEMBERS: Final = 48
LONGEST_WITHIN = 3600.0
"""As `steadyhead.surge.defaults.MOST_WITHIN`. [s]"""


class StudyAsk(BaseModel):
    """What is asked for. Fields that a kind has no use for are left out.

    Parameters
    ----------
    kind
        *surge*: events once each; *proof*: what the shut-off protects, with the window of its needle;
        *closing*: peaks over the closing time; *stability*: how quiet the reducers are; *chances*: one event
        many times within the tolerances.
    event
        An event of the station, or one run of it; empty: all of them.
    way
        Id of one way through the station, ``together`` for all streams at once; empty: all.
    within
        Time in which a reducer fails, a valve is moved, a demand changes, with its unit; empty: as usual.
    runs, members, seed
        Of chances, of stability; and what both are drawn with.
    twin
        Id of the baseline the twin of the station goes by; empty: the values of the station file.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    kind: StudyKind
    event: str = Field("", max_length=80)
    way: str = Field("", max_length=80)
    within: str = Field("", max_length=40)
    runs: int = USUAL_RUNS
    members: int = USUAL_MEMBERS
    seed: int = 1
    twin: str = Field("", max_length=80)


OF_KIND: Final[Mapping[str, tuple[str, ...]]] = {
    "surge": ("event", "way", "within"),
    "proof": (),
    "closing": ("way",),
    "stability": ("way", "members", "seed"),
    "chances": ("event", "way", "runs", "seed"),
}
"""What each kind of study is made with."""
_COUNTS: Final = ("runs", "members", "seed")
"""Checked also where a kind has no use for them, so that nonsense is taken nowhere."""


def spec_of(asked: StudyAsk, offer: OfferView) -> dict[str, Any]:
    """Return what a job is made with, checked against what the station can do.

    Raises
    ------
    InputErrors
        Every field that cannot be taken.
    """
    found: dict[str, Any] = {}
    errors: list[InputError] = []
    for name in (*OF_KIND[asked.kind], *(one for one in _COUNTS if one not in OF_KIND[asked.kind])):
        try:
            checked = _CHECKS[name](asked, offer)
            found |= checked if name in OF_KIND[asked.kind] else {}
        except InputError as error:
            errors.append(error)
    if not errors and asked.kind in ("proof", "closing") and not offer.has_shut_off:
        errors.append(InputError("kind", "has nothing to prove: the station has no shut-off.", SEE_SURGE))
    if errors:
        raise InputErrors(errors)
    return found


SEE_SURGE = "Run a surge study to see what happens without one."


def _event(asked: StudyAsk, offer: OfferView) -> dict[str, Any]:
    known = [one.name for one in offer.events]
    name = asked.event.strip()
    is_run = any(name.startswith(f"{one}-") for one in known)
    if name and name not in known and not is_run:
        raise InputError("event", f"got {name!r}.", f"Known are: {', '.join(known)}.")
    if not name and asked.kind == "chances":
        raise InputError("event", "is left out.", "Name one run of one event.")
    return {"event": name}


def _way(asked: StudyAsk, offer: OfferView) -> dict[str, Any]:
    known = [one.id for one in offer.ways if asked.kind == "surge" or not one.is_together]
    way = asked.way.strip()
    if way and way not in known:
        names = ", ".join(one for one in known if one) or "none: the station has one way only"
        raise InputError("way", f"got {way!r}.", f"Known are: {names}.")
    if not way and asked.kind == "chances" and len(known) > 1:
        raise InputError("way", "is left out, and this station has several ways.", "Name one of them.")
    return {"way": way}


def _within(asked: StudyAsk, offer: OfferView) -> dict[str, Any]:
    text = asked.within.strip()
    if not text:
        return {"within": ""}
    try:
        seconds = parse(text, "time").si
    except UnitError as problem:
        raise InputError("within", problem.problem, problem.remedy) from None
    if not 0.0 < seconds <= LONGEST_WITHIN:
        raise InputError("within", f"got {text}.", f"Give a time above 0 s, at most {LONGEST_WITHIN:g} s.")
    own = next((one for one in offer.events if one.name == asked.event.strip()), None)
    if own is not None and own.has_own_time:
        raise InputError(
            "within", f"has no part in {own.name}: how fast it goes is the valve's own.", "Leave it out."
        )
    return {"within": f"{seconds:.9g} s"}


def _count(name: str, least: int, most: int) -> Any:
    def check(asked: StudyAsk, offer: OfferView) -> dict[str, Any]:
        value = getattr(asked, name)
        if not least <= value <= most:
            raise InputError(name, f"got {value}.", f"Give {least} to {most}.")
        return {name: value}

    return check


_CHECKS: Final[Mapping[str, Any]] = {
    "event": _event,
    "way": _way,
    "within": _within,
    "runs": _count("runs", FEWEST_RUNS, MOST_RUNS),
    "members": _count("members", FEWEST_MEMBERS, MOST_MEMBERS),
    "seed": _count("seed", 0, LARGEST_SEED),
}


def spec_words(kind: str, spec: Mapping[str, Any]) -> str:
    """Return in a few words what a study was asked with.

    Examples
    --------
    >>> spec_words("surge", {"event": "fails-open", "way": "", "within": "2 s"})
    'fails-open, within 2 s'
    """
    said = []
    if kind == "surge":
        said.append(str(spec.get("event") or "every event"))
    elif kind == "chances":
        said.append(f"{spec.get('event', '')}, {spec.get('runs', '')} runs, seed {spec.get('seed', '')}")
    elif kind == "stability":
        said.append(f"{spec.get('members', '')} members, seed {spec.get('seed', '')}")
    elif kind == "judge":
        start, end = spec.get("start") or "the first sample", spec.get("end") or "the last one"
        said.append(f"{start} to {end}")
    if spec.get("twin_words"):
        said.append(str(spec["twin_words"]))
    if spec.get("way"):
        said.append(f"way {spec['way']}")
    if spec.get("within"):
        said.append(f"within {spec['within']}")
    return ", ".join(said)
