"""Entries that are no answers of a step: acts, choices, positions, people, instruments, deviations."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from difflib import get_close_matches
from typing import Any, Final

from steadyhead.errors import InputError, InputErrors
from steadyhead.procedure.accepting import ASKED
from steadyhead.procedure.minded import NAMES_ITS_THING
from steadyhead.procedure.naming import Names, folded, names_of
from steadyhead.procedure.record import day_of
from steadyhead.records.entry import GUARDS, KINDS, MOVES, TOUCHES, VERBS
from steadyhead.services.entering.answers import photo
from steadyhead.services.entering.book import Book
from steadyhead.services.entering.draft import Draft, known_name, measured, nearest
from steadyhead.units.table import KINDS as QUANTITIES

Maker = Callable[[Book, str, str, Mapping[str, str]], tuple[Draft, ...]]
"""Makes the entries of one kind: book, step, words before the first NAME=VALUE, values by name."""
EXTRA: Final[Mapping[str, tuple[str, ...]]] = {"instrument": ("certificate",), "begin": ("purpose",)}
SLIP: Final = 0.85
"""Likeness of two names from which one is taken for a slip of the other. Own estimate."""
LOOKED: Final = "second look"
"""Act by which somebody else agrees to an entry that was taken back."""
NOTHING: Final = "nothing touched"
"""Act that answers a note: it told of no touch."""
MEASURES: Final[Mapping[str, str]] = {"stopwatch": "time", "thermometer": "temperature", "rule": "length"}
"""What an instrument measures where that is not said; of these no class is asked."""
_NO_GAUGE: Final = "Is it no gauge: what=stopwatch, what=thermometer or what=rule, or quantity=flow."
AMOUNTS: Final = ("turns", "pressure", "volume", "flow", "time", "length", "temperature")
"""Kinds of quantity an act may give an amount of, in the order in which a unit is looked for."""


def done(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """The step was done as it is written."""
    _step(step, "done")
    _no_more(head, typed)
    return (Draft("action", {"do": "tick"}, step),)


def act(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """Something was done to a thing of the station."""
    known_name("do", head, VERBS, "act of the list")
    _only(typed, ("thing", "detail", "to", "amount"))
    payload: dict[str, Any] = {"do": head, **{key: value for key, value in typed.items() if key != "amount"}}
    if head == NOTHING:
        payload["to"] = _answered(book, typed)
    elif head == LOOKED and "to" in typed:
        payload["to"] = book.entry("to", typed["to"]).id
    elif head in (*TOUCHES, *GUARDS, *MOVES):
        _placed(book, step, head, typed.get("thing", ""))
    if "amount" in typed:
        payload |= _amount(typed["amount"])
    return (Draft("action", payload, step),)


def _placed(book: Book, step: str, head: str, thing: str) -> None:
    """Refuse a touch of something nobody can place: not of the plan, nor of any part of the station."""
    names = names_of(book.procedure)
    _outside(names, thing, book.procedure.minding.called)
    if thing and thing not in book.things and not names.is_exact(thing) and not _is_part(book, thing):
        valves = dict.fromkeys(one.partition(".")[0] for one in book.procedure.minding.things)
        whole = f" Or name the whole valve: {', '.join(valves)}." if valves else ""
        remedy = f"{nearest(thing, book.things)}{whole} What is not of the station: thing=outside.NAME."
        raise InputError("thing", f"got {thing!r:.60}, which the plan does not know.", remedy)
    if not thing and (not step or head in (*TOUCHES, *NAMES_ITS_THING)):
        works = next((node.touches for node in book.procedure.nodes if node.id == step), ())
        raise InputError("thing", f"is missing: {head} what?", _to_name(works, book))


def _to_name(works: tuple[str, ...], book: Book) -> str:
    """Return how to name a thing: with one that the step works, where it works any."""
    if works:
        own = ", ".join(works)
        return f"Write thing=NAME. The step works {own}. What is not of the station: thing=outside.NAME."
    return nearest("", book.things)


def _outside(names: Names, thing: str, called: tuple[str, ...]) -> None:
    """Refuse what is said to lie outside and bears a name of the station, or of what protects it."""
    if names.hides(thing, called):
        remedy = "Name the thing of the station itself; outside is what does not belong to it."
        raise InputError("thing", f"got {thing!r:.60}, which names something of the station.", remedy)


def _is_part(book: Book, thing: str) -> bool:
    """Return whether a name is one of a part the plan has no name for, and no slip of one that it has."""
    part = names_of(book.procedure).part(thing)
    own = [folded(one) for one in book.things if one.startswith(f"{part}.")]
    return bool(part) and not get_close_matches(folded(thing), own, n=1, cutoff=SLIP)


def _answered(book: Book, typed: Mapping[str, str]) -> str:
    """Return the id of the note, or answer in words, that touched nothing, by its number in the file."""
    if "to" not in typed:
        raise InputError("to", "is missing: which note?", "Write its number, e.g. to=57; see run show.")
    about = book.entry("to", typed["to"])
    words = about.kind == "observation" and isinstance(about.payload.get("value"), str)
    if about.kind != "note" and not words:
        raise InputError("to", f"entry {typed['to']} is no note.", "Correct the entry, or make it void.")
    return about.id


def choose(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """A choice of the plan was taken."""
    _no_more("", typed)
    choices = {choice.id: choice for choice in book.procedure.choices}
    if step not in choices:
        raise InputError("choose", f"{step or 'no step'} is no choice.", nearest(step, choices))
    options = [name for name, _, _ in choices[step].options]
    known_name("choose", head, options, f"option of {step}")
    return (Draft("choice", {"choice": step, "option": head}, step),)


def position(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """How valves, drains and cocks stand, THING=HOW."""
    if head or not typed or not all(typed.values()):
        raise InputError("position", "says which thing stands how.", "Write e.g. position IV1=shut TD=open.")
    names = names_of(book.procedure)
    for thing in typed if names.parts else ():
        _outside(names, thing, book.procedure.minding.called)
        if not names.is_exact(thing) and not names.part(thing):
            remedy = f"{nearest(thing, book.things)} What is not of the station: outside.NAME=HOW."
            raise InputError("position", f"got {thing!r:.60}, which the plan does not know.", remedy)
    return tuple(Draft("position", {"thing": thing, "is": how}, step) for thing, how in typed.items())


def picture(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """A photo of something no step asks for."""
    _only(typed, ("of", "file"))
    _needed("photo", typed, ("of", "file"))
    return (Draft("photo", photo("file", typed["of"], typed["file"], book.pictures), step),)


def note(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """Words, at a step or at none."""
    text = " ".join((head, *(f"{key}={value}" for key, value in typed.items()))).strip()
    if not text:
        raise InputError("note", "got no words.", "Write what is to be noted.")
    return (Draft("note", {"text": text}, step),)


def begin(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """What the run is made for, and by whose leave a setting may be changed in it."""
    _plain("begin", head, typed, ("purpose",))
    plan = book.plan
    return (Draft("run", {"plan": plan.sha256, "kind": plan.procedure.kind, **typed}),)


def person(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """Somebody takes part."""
    _plain("person", head, typed, ("name",))
    _day("authorised_until", typed)
    return (Draft("person", dict(typed)),)


def instrument(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """An instrument is described: what it reads to, how true it is, until when."""
    given = dict(typed)
    if "quantity" not in given:
        told = next((kind for word, kind in MEASURES.items() if word in given.get("what", "").casefold()), "")
        given |= {"quantity": told} if told else {}
    beside = given.get("quantity", "pressure") != "pressure"
    _plain("instrument", head, given, ("name",))
    if not beside:
        _needed("instrument", given, ("low", "high", "class", "due"), _NO_GAUGE)
    return (Draft("instrument", described(given)),)


def described(typed: Mapping[str, str]) -> dict[str, Any]:
    """Return what was typed of an instrument, in SI; the class as a share of the span."""
    quantity = typed.get("quantity", "pressure")
    known_name("quantity", quantity, QUANTITIES, "kind of quantity")
    payload: dict[str, Any] = {**typed, "quantity": quantity}
    wrong: list[InputError] = []
    for key, kind in (*((key, quantity) for key in ("low", "high", "division", "zero")), ("class", "ratio")):
        try:
            if key in typed:
                payload[key] = measured(key, typed[key], kind).si
            if key in ("class",) and key in typed and not typed[key].endswith("%"):
                remedy = f"Write {typed[key]} % if that is the class on its face: a share of its span."
                raise InputError(key, f"got {typed[key]!r:.20} without its per cent.", remedy)
        except InputError as error:
            wrong.append(error)
    for key in ("calibrated", "due"):
        try:
            _day(key, typed)
        except InputError as error:
            wrong.append(error)
    if wrong:
        raise InputErrors(wrong, "instrument")
    return payload


def deviation(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """Somebody who answers for it accepts something as it is, until a day."""
    _plain("deviation", head, typed, ("about", *ASKED))
    plan = book.procedure
    every = [*(node.id for node in plan.nodes), *(name for node in plan.nodes for name in node.proves)]
    every += [name for node in plan.nodes for name in node.opens]
    every += [one.thing for one in plan.minding.left if not one.never]
    about = known_name("about", typed["about"], every, "step, proof or thing to be restored of this plan")
    if about in plan.never:
        remedy = "Put it right, or sign as provisional."
        raise InputError("about", f"{about} can be accepted by nobody.", remedy)
    _day("due", typed)
    return (Draft("deviation", dict(typed)),)


def sign(book: Book, step: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """Somebody signs: sign final or sign provisional; what was left as as_left.SETTING=VALUE."""
    if head not in ("final", "provisional"):
        remedy = "Write sign final or sign provisional, and a statement=…"
        raise InputError("sign", f"got {head!r:.40}.", remedy)
    payload: dict[str, Any] = {"asks": head}
    for name, value in typed.items():
        part, _, setting = name.partition(".")
        if part in ("as_left", "as_found") and setting:
            payload.setdefault(part, {})[setting] = measured(name, value, "pressure").si
        elif name == "statement":
            payload[name] = value
        else:
            known = ("statement", "as_left.SETTING", "as_found.SETTING")
            raise InputError(name, "is nothing a signature says.", nearest(name, known))
    last = [node for node in book.procedure.after if node.startswith("K1")]
    return (Draft("sign", payload, step or next(iter(last), "")),)


MAKERS: Final[Mapping[str, Maker]] = {
    "done": done,
    "do": act,
    "choose": choose,
    "position": position,
    "photo": picture,
    "note": note,
    "begin": begin,
    "person": person,
    "instrument": instrument,
    "deviation": deviation,
    "sign": sign,
}
"""Kinds of entry by the word a person writes; ``correct`` and ``void`` stand in `amending`."""


def _amount(text: str) -> dict[str, Any]:
    for kind in AMOUNTS:
        try:
            return {"amount": measured("amount", text, kind).si, "unit": kind}
        except InputError:
            continue
    raise InputError("amount", f"got {text!r:.40}.", "Write a number with its unit, e.g. 1/4 turn.")


def _step(step: str, word: str) -> None:
    if not step:
        raise InputError(word, "needs a step before it.", f"Write e.g. A4 {word}.")


def _no_more(head: str, typed: Mapping[str, str]) -> None:
    if head or typed:
        got = " ".join((head, *typed)).strip()
        raise InputError(got, "has no place here.", "Enter it by itself.")


def _only(typed: Mapping[str, str], allowed: tuple[str, ...]) -> None:
    for name in typed:
        if name not in allowed:
            raise InputError(name, "has no place here.", nearest(name, allowed))


def _plain(kind: str, head: str, typed: Mapping[str, str], needs: tuple[str, ...]) -> None:
    """Hold what was typed of a person, an instrument or a deviation to the keys of its kind."""
    keys = (*KINDS.get(kind, ()), *EXTRA.get(kind, ()))
    if head:
        raise InputError(head, "has no place here.", f"Write NAME=VALUE with: {', '.join(keys)}.")
    _only(typed, keys)
    _needed(kind, typed, needs)


def _needed(kind: str, typed: Mapping[str, str], needs: tuple[str, ...], more: str = "") -> None:
    missing = [name for name in needs if not typed.get(name)]
    if missing:
        remedy = f"Write each as NAME=VALUE. {more}".strip()
        raise InputError(kind, f"does not say: {', '.join(missing)}.", remedy)


def _day(key: str, typed: Mapping[str, str]) -> None:
    if key in typed and day_of(typed[key]) is None:
        raise InputError(key, f"got {typed[key]!r:.40}, which is no day.", "Write e.g. 2027-09-30.")
