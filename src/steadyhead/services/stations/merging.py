"""Two people changed one station file: what each changed, value by value, and one file of both.

Each difference stands for a place by name (items of a list go by their id or name), so that it is found again
in the other file, whatever was added or moved there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from steadyhead.errors import InputError, InputErrors
from steadyhead.services.stations.fields import as_text
from steadyhead.station.document import Document, dump, insert, move, patch, remove
from steadyhead.station.load import load
from steadyhead.station.plain import from_tree
from steadyhead.station.refusal import Path, Refusal, in_words

NAMES = ("id", "component", "failure", "at", "to", "lift")
"""Fields that tell the items of a list apart."""
ORDER = "(order)"
"""Last step of the place that stands for the order of a list."""
Side = Literal["mine", "theirs", "both", "agreed"]


@dataclass(frozen=True, slots=True)
class Item:
    """A step into a list: the item of that name."""

    name: str


Step = str | Item
Place = tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """One place that at least one of two people changed.

    Parameters
    ----------
    place, words
        Where it is, by names, and as a person reads it.
    base, mine, theirs
        What stands there in each file; None: nothing.
    side
        Who changed it: *mine*, *theirs*, *both* differently, or *agreed*: both alike.
    """

    place: Place
    words: str
    base: Any
    mine: Any
    theirs: Any
    side: Side

    @property
    def name(self) -> str:
        """Return the place as one text, for forms."""
        return "/".join(f"={one.name}" if isinstance(one, Item) else one for one in self.place)


def differences(base: bytes, mine: bytes, theirs: bytes) -> tuple[Difference, ...]:
    """Return what two people changed of a file, in the order of the file.

    Raises
    ------
    InputErrors
        One of the files cannot be used.
    """
    was, own, other = (load(source).data for source in (base, mine, theirs))
    changed = {"mine": _changed((), was, own), "theirs": _changed((), was, other)}
    places = _outermost([*changed["mine"], *changed["theirs"]])
    found = []
    for place in places:
        before, yours, there = (_at(data, place) for data in (was, own, other))
        side = _side(before, yours, there)
        if side is not None:
            found.append(Difference(place, _words(place, was, own, other), before, yours, there, side))
    return tuple(found)


def merged(mine: bytes, theirs: bytes, taken: Sequence[Difference]) -> bytes:
    """Return the file of the other person with the differences taken over from mine; all else as theirs.

    Raises
    ------
    InputErrors
        What came of it cannot be used.
    InputError
        A place stands in a style that cannot be changed in place.
    """
    document, own = load(theirs).document, load(mine).data
    assert document is not None
    for one in sorted(taken, key=lambda one: one.place[-1] == ORDER):
        document = _taken(document, one, own)
    source = dump(document)
    load(source)
    return source


def _changed(place: Place, old: Any, new: Any) -> list[Place]:
    """Return the places where two files differ."""
    if old == new:
        return []
    if isinstance(old, dict) and isinstance(new, dict):
        keys = [*new, *(key for key in old if key not in new)]
        return [at for key in keys for at in _changed((*place, key), old.get(key), new.get(key))]
    before, after = _named(old), _named(new)
    if before is None or after is None or not (before and after):
        return [place]
    names = [*after, *(name for name in before if name not in after)]
    found = [at for name in names for at in _changed((*place, Item(name)), before.get(name), after.get(name))]
    was, now = ([name for name in one if name in before and name in after] for one in (before, after))
    return found if was == now else [*found, (*place, ORDER)]


def _named(items: Any) -> dict[str, Any] | None:
    """Return the items of a list by name; None where it is no list of things with names of their own."""
    if not isinstance(items, list):
        return None
    found: dict[str, Any] = {}
    for item in items:
        name = _name(item)
        if not name or name in found:
            return None
        found[name] = item
    return found


def _name(item: Any) -> str:
    if not isinstance(item, dict):
        return ""
    if "to" in item and "at" in item:  # an answer: of a finding, at a place
        return f"{item['to']} {item['at']}"
    return next((str(item[key]) for key in NAMES if isinstance(item.get(key), str)), "")


def _outermost(places: Sequence[Place]) -> list[Place]:
    """Return the places without those that lie inside another of them, each once."""
    own = set(places)
    return [
        place
        for place in dict.fromkeys(places)
        if not any(place[:depth] in own for depth in range(1, len(place)))
    ]


def _side(base: Any, mine: Any, theirs: Any) -> Side | None:
    if mine == theirs:
        return None if mine == base else "agreed"
    if mine == base:
        return "theirs"
    return "mine" if theirs == base else "both"


def _at(data: Any, place: Place) -> Any:
    for step in place:
        if step == ORDER:
            return list(_named(data) or ())
        if isinstance(step, Item):
            data = (_named(data) or {}).get(step.name)
        else:
            data = data.get(step) if isinstance(data, dict) else None
    return data


def _words(place: Place, *files: dict[str, Any]) -> str:
    """Return a place as a person reads it, by the first file that has it."""
    bare = place[:-1] if place[-1] == ORDER else place
    tail = ": order" if place[-1] == ORDER else ""
    for data in files:
        path = _path(data, bare)
        if path is not None:
            return in_words(path, data) + tail
    return "/".join(str(getattr(step, "name", step)) for step in bare) + tail


def _path(data: Any, place: Place) -> Path | None:
    """Return keys and indices of a place; None where it is not there."""
    path: list[str | int] = []
    for step in place:
        if isinstance(step, Item):
            names = list(_named(data) or ())
            if step.name not in names:
                return None
            path.append(names.index(step.name))
            data = data[names.index(step.name)]
        elif isinstance(data, dict) and step in data:
            path.append(step)
            data = data[step]
        else:
            return None
    return tuple(path)


def _taken(document: Document, one: Difference, own: Mapping[str, Any]) -> Document:
    """Return a document with what stands at one place in mine."""
    data = from_tree(document.root).data
    if one.place[-1] == ORDER:
        return _ordered(document, data, one)
    path = _path(data, one.place)
    try:
        if one.mine is None:
            return document if path is None else remove(document, path)
        if path is not None:
            return patch(document, path, one.mine)
        return _added(document, data, one, own)
    except Refusal as problem:
        raise InputError(one.words, problem.problem, problem.remedy) from None


def _added(document: Document, data: Any, one: Difference, own: Mapping[str, Any]) -> Document:
    """Return a document with what it has not got: an item behind the one it follows in mine, or a key."""
    last = one.place[-1]
    outer = _path(data, one.place[:-1])
    if not isinstance(last, Item):
        if outer is None:
            raise InputError(
                one.words, "belongs to something the other file no longer has.", "Take that from yours too."
            )
        return patch(document, (*outer, str(last)), one.mine)
    if outer is None:
        raise InputError(
            one.words, "belongs to a list the other file no longer has.", "Take that list from yours too."
        )
    mine, there = list(_named(_at(own, one.place[:-1])) or ()), list(_named(_value(data, outer)) or ())
    before = [name for name in mine[: mine.index(last.name)] if name in there]
    place = there.index(before[-1]) + 1 if before else 0
    return insert(document, outer, place, one.mine)


def _ordered(document: Document, data: Any, one: Difference) -> Document:
    """Return a document with the items of a list in the order of mine; what mine has not got comes last."""
    outer = _path(data, one.place[:-1])
    if outer is None:
        return document
    names = list(_named(_value(data, outer)) or ())
    wanted = [name for name in one.mine if name in names]
    order = wanted + [name for name in names if name not in wanted]
    for place, name in enumerate(order):
        now = names.index(name)
        if now != place:
            document = move(document, outer, now, place)
            names.insert(place, names.pop(now))
    return document


def _value(data: Any, path: Path) -> Any:
    for step in path:
        data = data[step]
    return data


def shown(value: Any) -> str:
    """Return what stands at a place as it was typed; nothing: empty."""
    if isinstance(value, list) and value and all(isinstance(one, dict) for one in value):
        return "; ".join(as_text(one) for one in value)
    return as_text(value)


def checked(found: Sequence[Difference], taken: Mapping[str, str]) -> tuple[Difference, ...]:
    """Return the differences that are to be taken from mine, by the choice made for each.

    Raises
    ------
    InputErrors
        A difference that both changed, of which nobody said whose counts.
    """
    open_ones = [
        InputError(one.words, "was changed by both.", "Choose yours or theirs.")
        for one in found
        if one.side == "both" and taken.get(one.name) not in ("mine", "theirs")
    ]
    if open_ones:
        raise InputErrors(open_ones)
    usual = {"mine": "mine", "theirs": "theirs", "agreed": "theirs"}
    return tuple(one for one in found if taken.get(one.name, usual.get(one.side)) == "mine")


def all_mine(found: Sequence[Difference]) -> tuple[Difference, ...]:
    """Return what mine changed, to be done anew on top of theirs."""
    return tuple(one for one in found if one.side in ("mine", "both"))
