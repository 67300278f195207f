"""The profile of a source: how its files are read, as the record that is remembered."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steadyhead.records.logger import Column, Reading, TimeRule
from steadyhead.watch.reading.asking import Meant
from steadyhead.watch.reading.gather import Gathered, Structure
from steadyhead.watch.reading.joining import Timed
from steadyhead.watch.reading.order import Decided
from steadyhead.watch.reading.zones import Rule


def profile_of(
    tables: Sequence[tuple[Gathered, Sequence[tuple[Timed, Meant]]]], decided: dict[str, Decided], rule: Rule
) -> Reading | None:
    """Return the profile of a file: that of its table with most samples; None where it has none."""
    if not tables:
        return None
    main, meant = max(tables, key=lambda each: sum(len(raw.v) for raw in each[0].series))
    lies, grid = main.structure, main.structure.grid
    forms = tuple(dict.fromkeys(shape for _, shape in main.formats))[:4]
    order = next(
        (each.order for shape, each in decided.items() if any(shape.split(" ")[0] in one for one in forms)),
        "",
    )
    start = "" if main.begins.start is None else str(np.datetime64(main.begins.start, "us"))
    time = TimeRule(
        lies.times.kind, forms, order or ("ymd" if forms else ""), rule.zone, rule.info is not None, start,
        main.begins.interval,
    )  # fmt: skip
    marks = tuple(mark for mark, _ in main.missing_marks.most_common(8))
    header = lies.parted.segments[0].rows[0][0] - 1
    sheets = tuple(each.structure.grid.sheet for each, _ in tables if each.structure.grid.sheet)
    return Reading(
        grid.container, grid.encoding, grid.delimiter, grid.widths, lies.decimal, "", header,
        lies.roles[0].layout,
        _columns(lies, meant), time, marks, sheets,
    )  # fmt: skip


def _columns(lies: Structure, meant: Sequence[tuple[Timed, Meant]]) -> tuple[Column, ...]:
    heads, roles = lies.parted.segments[0].heads, lies.roles[0]
    out: list[Column] = []

    def head(at: int) -> str:
        return heads[at] if at < len(heads) else ""

    for one in lies.times.sources:
        out.append(Column(one.at, head(one.at), "time" if one.clock is None else "date"))
        if one.clock is not None:
            out.append(Column(one.clock, head(one.clock), "clock"))
    for timed_, each in meant:
        raw = timed_.raw
        source = lies.times.sources[raw.source].at if lies.times.sources else 0
        statistic = raw.said.statistic or ("mean" if each.quantity == "flow" else "spot")
        out.append(Column(
            raw.column, raw.heading, "value", each.quantity, statistic, raw.said.place, each.unit.name,
            each.unit.absolute, raw.said.inverted, source, each.evidence,
        ))  # fmt: skip
    for flags in {tuple(each) for each in roles.flags.values()}:
        out += [Column(at, head(at), "flag") for at in flags]
    if roles.name is not None:
        out.append(Column(roles.name, head(roles.name), "name"))
    if roles.unit is not None:
        out.append(Column(roles.unit, head(roles.unit), "unit"))
    out += [Column(at, head(at), "unused") for at in roles.unused if head(at)]
    return tuple(sorted(out, key=lambda one: one.index))
