"""What is in the pipes of a station whose shut-off stands across them: beyond it, nobody knows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from steadyhead.records.pictures import StripBranch, StripPart

Parts = tuple[StripPart, ...]
Branches = tuple[StripBranch, ...]
Stops = Callable[[StripPart], bool]


def is_shut(part: StripPart) -> bool:
    """Return whether a part lets nothing through: a tripped shut-off, a shut isolating valve."""
    return (part.kind == "shut_off" and part.tripped is True) or (
        part.kind == "isolating" and part.open_share == 0.0
    )


def may_be_shut(part: StripPart) -> bool:
    """Return whether a part may be what is shut, where nobody knows which one it is."""
    return part.kind in ("reducer", "shut_off") or is_shut(part)


def unknown_beyond(parts: Parts, branches: Branches, stops: Stops = is_shut) -> tuple[Parts, Branches]:
    """Return the parts and branches of an axis with the pipes beyond what is shut drawn as not known.

    A pipe stays full where water still comes to it by another way; consumers may have emptied all others.
    stops: says of a part whether it lets nothing through.
    """
    stop = _first_stop(parts, branches, stops)
    if stop is None:
        return parts, branches
    order = {part.id: index for index, part in enumerate(parts)}
    found = []
    for branch in branches:
        leaves, returns = _ends(branch, order, len(parts))
        found.append(
            _beyond(branch, stops) if leaves < stop < returns else _lost(branch, lost=leaves >= stop)
        )
    return _from(parts, stop), tuple(found)


def _first_stop(parts: Sequence[StripPart], branches: Sequence[StripBranch], stops: Stops) -> int | None:
    """Return the first part that lets nothing through and has no open way beside it."""
    order = {part.id: index for index, part in enumerate(parts)}
    ways = [
        _ends(branch, order, len(parts))
        for branch in branches
        if _first_stop(branch.parts, branch.branches, stops) is None
    ]
    for index, part in enumerate(parts):
        if stops(part) and not any(leaves < index < returns for leaves, returns in ways):
            return index
    return None


def _ends(branch: StripBranch, order: dict[str, int], end: int) -> tuple[int, int]:
    return order.get(branch.after, -1), order.get(branch.before, end)


def _from(parts: Parts, stop: int) -> Parts:
    return tuple(
        replace(part, pipe_after="unknown") if index >= stop else part for index, part in enumerate(parts)
    )


def _beyond(branch: StripBranch, stops: Stops) -> StripBranch:
    """Return a branch beside the shut part, which lets nothing through either."""
    parts, inner = unknown_beyond(branch.parts, branch.branches, stops)
    return replace(branch, parts=parts, branches=inner)


def _lost(branch: StripBranch, *, lost: bool) -> StripBranch:
    """Return a branch all of which lies beyond, or before, the shut part."""
    if not lost:
        return branch
    inner = tuple(_lost(each, lost=True) for each in branch.branches)
    return replace(branch, inlet_pipe="unknown", parts=_from(branch.parts, 0), branches=inner)
