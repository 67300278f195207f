"""Where the parts of a station with several streams stand along the page, joints and nested groups included.

Every axis is a row of parts and joints. The parts between two joints are drawn apart until the longest of the
branches beside them finds room, so that a part stands above its like where two streams are built alike.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from steadyhead.records.pictures import StripBranch, StripPart, StripPicture

JOINT = 24.0
"""Length of pipe that a joint takes. [px]"""
LEAST_GROUP = 132.0
"""Length between the joints of a group, so that the words of a short branch find room. [px]"""
SMALLEST_SHARE = 0.02
_STEPS = 40


@dataclass(frozen=True, slots=True)
class Group:
    """Branches that share two joints of one axis.

    Parameters
    ----------
    id
        Id of the group; of a branch without one the branch's own.
    leave, back
        The joints stand in front of the part with this number, `back` in front of the part after the group.
    branches
        In the order they are drawn.
    """

    id: str
    leave: int
    back: int
    branches: tuple[StripBranch, ...]


@dataclass(frozen=True, slots=True)
class Axis:
    """One row of parts with the groups that leave it, the outer of two before the inner."""

    parts: tuple[StripPart, ...]
    groups: tuple[Group, ...]


@dataclass(frozen=True, slots=True)
class Laid:
    """The places of one axis along the page. [px]

    Parameters
    ----------
    axis
        What stands on it.
    start, end
        Ends of its pipe.
    along
        Place of each part.
    joints
        The two joints of each group, by its id.
    share
        Length given to the most crowded part over its natural length.
    """

    axis: Axis
    start: float
    end: float
    along: tuple[float, ...]
    joints: Mapping[str, tuple[float, float]]
    share: float


def has_streams(picture: StripPicture) -> bool:
    """Say whether a picture holds more than a plain bypass: a stream with parts, or several branches."""
    return any(branch.group or branch.branches for branch in picture.branches)


def axis_of(parts: Sequence[StripPart], branches: Sequence[StripBranch]) -> Axis:
    """Return parts and branches as an axis."""
    order = {part.id: index for index, part in enumerate(parts)}
    found: dict[str, Group] = {}
    for branch in branches:
        key = branch.group or branch.id
        leave = order[branch.after] + 1 if branch.after else 0
        back = order[branch.before] if branch.before else len(parts)
        known = found.get(key, Group(key, leave, back, ()))
        found[key] = replace(known, branches=(*known.branches, branch))
    return Axis(tuple(parts), tuple(sorted(found.values(), key=lambda group: (group.leave, -group.back))))


def walked(axis: Axis) -> tuple[int | tuple[str, str], ...]:
    """Return the row of an axis: numbers of parts, and joints as group and end, in the order of flow."""
    row: list[int | tuple[str, str]] = []
    for gap in range(len(axis.parts) + 1):
        open_before = [group for group in axis.groups if group.leave < gap]
        row += [(group.id, "back") for group in reversed(open_before) if group.back == gap]
        for group in axis.groups:
            if group.leave == gap:
                row.append((group.id, "leave"))
        row += [
            (group.id, "back") for group in reversed(axis.groups) if group.leave == gap and group.back == gap
        ]
        if gap < len(axis.parts):
            row.append(gap)
    return tuple(row)


def lay_axis(axis: Axis, pitches: Mapping[str, float], start: float, end: float) -> Laid:
    """Return the places of an axis between two ends of the page.

    Parameters
    ----------
    axis
        Parts and groups.
    pitches
        Half of the natural length of a part, by kind. [px]
    start, end
        Ends of the pipe. [px]
    """
    low, high = SMALLEST_SHARE, 40.0
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if sum(_lengths(axis, pitches, middle)) > end - start:
            high = middle
        else:
            low = middle
    lengths = _lengths(axis, pitches, low)
    squeeze = min(1.0, (end - start) / (sum(lengths) or 1.0))
    along, joints, place = [0.0] * len(axis.parts), dict[str, list[float]](), start
    shares = [40.0]
    for item, length in zip(walked(axis), lengths, strict=True):
        centre, place = place + squeeze * length / 2, place + squeeze * length
        if isinstance(item, int):
            along[item] = centre
            shares.append(squeeze * length / (2 * pitches[axis.parts[item].kind]))
        else:
            joints.setdefault(item[0], []).append(centre)
    ends = {key: (both[0], both[1]) for key, both in joints.items()}
    return Laid(axis, start, end, tuple(along), ends, min(shares))


def _lengths(axis: Axis, pitches: Mapping[str, float], share: float) -> list[float]:
    """Return the length of each item of the row at this share of the natural length. [px]"""
    row = walked(axis)
    lengths = [
        JOINT if not isinstance(item, int) else 2 * pitches[axis.parts[item].kind] * share for item in row
    ]
    for group in reversed(axis.groups):
        first, last = row.index((group.id, "leave")), row.index((group.id, "back"))
        need = max(
            LEAST_GROUP,
            *(sum(_lengths(axis_of(b.parts, b.branches), pitches, share)) + JOINT for b in group.branches),
        )
        have = sum(lengths[first : last + 1]) - JOINT
        inside = [index for index in range(first + 1, last) if isinstance(row[index], int)]
        if have >= need:
            continue
        if not inside:
            lengths[first] += (need - have) / 2
            lengths[last] += (need - have) / 2
            continue
        parts = sum(lengths[index] for index in inside)
        for index in inside:
            lengths[index] *= (parts + need - have) / parts
    return lengths
