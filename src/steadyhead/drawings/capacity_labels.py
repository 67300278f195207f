"""Names on the capacity map: each in the first free place near what it names, or nowhere."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Content, Lettering, text_box
from steadyhead.drawings.capacity_areas import Frame, inside
from steadyhead.drawings.capacity_facts import CapacityFacts
from steadyhead.drawings.capacity_zones import NAIL
from steadyhead.drawings.labels import Ground
from steadyhead.drawings.tokens import Role
from steadyhead.records.capacity import Border, BorderKind, CapacityMap

TONES: dict[BorderKind, Role] = {
    "wide open": "ink-2",
    "incipient": "heed",
    "constant": "heed",
    "damage": "halt",
    "choked": "halt",
    "low flow, plain valve": "ink-2",
    "too fast": "ink-2",
    "too fast in a fire": "ink-2",
    "quiet at best": "twin",
    "quiet at worst": "twin",
}
NAMED_AFTER = tuple(TONES)
TAKEN = 10.0
"""Cost from which a place is taken by other lettering, a nail or the edge of the map."""
LEADER_FROM = 8.0
"""A name further above or below its nail is led to by a hairline. [px]"""
STACKED = 24.0
"""Nails nearer along the flow axis than this stand above one another: their names keep their order. [px]"""
FURTHER = 0.3
"""What each later place costs more than the one before: a name stays near unless it crosses much."""
Spot = tuple[float, float]
Fits = Callable[[Box], bool]


def _anywhere(box: Box) -> bool:
    return True


def _below(frame: Frame, border: Border) -> Fits:
    """Return whether a box lies wholly below a border; flows the border does not reach lie below it."""

    def test(box: Box) -> bool:
        edges = [_edge(frame, border, x) for x in (box.left, 0.5 * (box.left + box.right), box.right)]
        return all(edge is None or edge < box.top for edge in edges)

    return test


def _where_it_holds(frame: Frame, shown: CapacityMap) -> Fits:
    """Return whether a box lies wholly where the reducer holds without cavitation."""
    floor, roof = shown.border("wide open"), shown.border("incipient") or shown.border("choked")

    def test(box: Box) -> bool:
        for x in (box.left, 0.5 * (box.left + box.right), box.right):
            low = _edge(frame, floor, x) if floor is not None else None
            high = _edge(frame, roof, x) if roof is not None else None
            if low is None or low < box.bottom or (high is not None and high > box.top):
                return False
        return True

    return test


def _edge(frame: Frame, border: Border, x: float) -> float | None:
    """Return where a border stands above a place of the flow axis; None: it does not reach so far. [px]"""
    for (x0, y0), (x1, y1) in pairwise((frame.flow.at(q), frame.inlet.at(p)) for q, p in border.points):
        if x0 <= x <= x1 and x1 > x0:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return None


def _nearest_to(nail: Spot, nails: Sequence[Spot]) -> Fits:
    """Return whether a box stands at the height of this nail rather than of one just above or below it."""
    x, y = nail
    stacked = [other for other in nails if other != nail and abs(other[0] - x) < STACKED]

    def test(box: Box) -> bool:
        middle = 0.5 * (box.top + box.bottom)
        return all(abs(middle - y) <= abs(middle - other[1]) for other in stacked)

    return test


def name_all(canvas: Canvas, facts: CapacityFacts, frame: Frame) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Write every name that finds a free place; return those that do not, and cases without figures."""
    ground = Ground(frame.box)
    shown = facts.picture.shown
    for point in shown.points:
        x, y = frame.at(point.flow, point.inlet)
        ground.boxes.append(Box(x - NAIL - 2, y - NAIL - 2, x + NAIL + 2, y + NAIL + 2))
    for border in shown.borders:
        for stretch in inside(frame, border.points):
            ground.add_line(*stretch)
    left_out, bare = [], []
    nails = [frame.at(point.flow, point.inlet) for point in shown.points]
    for point, (x, y) in zip(shown.points, nails, strict=True):
        content: Content = ((facts.case(point), True), (f" {facts.place(point)}", False))
        beside = _around(x, y)
        short: Content = ((facts.case(point), True),)
        style = Lettering("small", "ink", halo="paper")
        near = _nearest_to((x, y), nails)
        box = _put(canvas, ground, content, style, beside, near)
        if box is None and (box := _put(canvas, ground, short, style, beside, near)) is not None:
            bare.append(facts.case(point))
        if box is None:
            left_out.append(facts.case(point))
        else:
            _draw_leader(canvas, (x, y), box)
    for kind in NAMED_AFTER:
        found = shown.border(kind)
        if found is None or not inside(frame, found.points):
            continue
        style = Lettering("small", TONES[kind], halo="paper")
        spots: Iterable[tuple[Spot, str]] = _beside(frame, found)
        fits: Fits = _anywhere
        if kind == "wide open":
            spots, fits = [*spots, *_across(frame)], _below(frame, found)
        if not _put(canvas, ground, facts.border(found), style, spots, fits):
            left_out.append(facts.border(found))
    style = Lettering("part", "twin", strong=True, halo="paper")
    _put(canvas, ground, facts.holds(), style, _across(frame), _where_it_holds(frame, shown))
    return tuple(left_out), tuple(bare)


def _put(
    canvas: Canvas,
    ground: Ground,
    content: Content,
    style: Lettering,
    spots: Iterable[tuple[Spot, str]],
    fits: Fits = _anywhere,
) -> Box | None:
    """Write a text where it lies on no other lettering and crosses least; None: there is no such place."""
    best: tuple[float, float, float, Lettering, Box] | None = None
    for rank, ((x, y), anchor) in enumerate(spots):
        turned = Lettering(
            style.size,
            style.tone,
            style.strong,
            "end" if anchor == "end" else "middle" if anchor == "middle" else "start",
            style.halo,
        )
        box = text_box(canvas.palette, x, y, content, turned)
        if not fits(box):
            continue
        cost = ground.cost(box, 3.0)
        told = cost + FURTHER * rank if cost < TAKEN else cost + TAKEN
        if best is None or told < best[0]:
            best = (told, x, y, turned, box)
    if best is None or best[0] >= 2.0 * TAKEN:
        return None
    _, x, y, turned, box = best
    ground.boxes.append(box)
    canvas["lettering"].text(x, y, content, turned)
    return box


def _draw_leader(canvas: Canvas, nail: Spot, box: Box) -> None:
    """Lead from a nail to a name that stands off it."""
    x, y = nail
    near = min(max(x, box.left), box.right), min(max(y, box.top), box.bottom)
    if abs(near[1] - y) > LEADER_FROM:
        canvas["lines"].line(x, y, *near, "hair")


def _around(x: float, y: float) -> list[tuple[Spot, str]]:
    """Return places beside a nail: right, left, above, below, then further off."""
    spots: list[tuple[Spot, str]] = []
    for rise in (0.0, -14.0, 14.0, -26.0, 26.0):
        spots.append(((x + NAIL + 6, y + 4.5 + rise), "start"))
        spots.append(((x - NAIL - 6, y + 4.5 + rise), "end"))
    spots += [((x, y - NAIL - 7), "middle"), ((x, y + NAIL + 16), "middle")]
    return spots


def _beside(frame: Frame, border: Border) -> Iterator[tuple[Spot, str]]:
    """Return places along a border, inside its zone first, from its right or upper end."""
    box = frame.box
    if border.kind.startswith("too fast"):
        x = frame.flow.at(border.points[0][0])
        for share in (0.08, 0.5, 0.75, 0.9, 0.3):
            y = box.top + share * (box.bottom - box.top)
            yield (x - 6, y), "end"
            yield (x + 14, y), "start"
        return
    if border.kind.startswith("low flow"):
        for share in (0.98, 0.9, 0.75, 0.6, 0.45, 0.3):
            q, p = border.points[round(share * (len(border.points) - 1))]
            x, y = frame.at(q, p)
            yield (x + 8, y + 14), "start"
            yield (box.left + 6, y + 14), "start"
        return
    below = border.kind == "wide open"
    stretches = inside(frame, border.points)
    points = [point for stretch in stretches for point in stretch]
    for share in (1.0, 0.85, 0.7, 0.55, 0.4, 0.25):
        if not points:
            return
        x, y = points[round(share * (len(points) - 1))]
        anchor = "end" if share > 0.3 else "start"
        for away in (18.0, 34.0):
            yield (x - 6 if anchor == "end" else x + 6, y + away if below else y - away + 10), anchor


def _across(frame: Frame) -> Iterator[tuple[Spot, str]]:
    """Return places for the name of the whole, from the middle of the map outwards."""
    box = frame.box
    for up in (0.45, 0.55, 0.35, 0.62, 0.28, 0.7):
        for along in (0.6, 0.5, 0.7, 0.4, 0.8):
            spot = (
                box.left + along * (box.right - box.left),
                box.bottom - up * (box.bottom - box.top),
            )
            yield spot, "middle"
