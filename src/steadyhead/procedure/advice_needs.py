"""What a step that turns a screw rests on and that does not stand: no turn is advised before it does.

Every step behind it is asked for, not the last one alone, and of the proofs those that such steps rest on:
the outlet valve proved tight, the line bled.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steadyhead.records.procedure import Expression, Node, Procedure

STANDS = ("done", "accepted", "valid")
OFF = "not on this way"


def lacking(
    procedure: Procedure, steps: Mapping[str, str], proofs: Mapping[str, str], step: str
) -> tuple[str, ...]:
    """Return the steps and proofs that a step of the adviser rests on and that do not stand.

    Parameters
    ----------
    procedure
        The plan.
    steps, proofs
        Their states by id and name, as judged.
    step
        The step at which a screw is turned.
    """
    node = {one.id: one for one in procedure.nodes}
    seen: set[str] = set()
    found = list(dict.fromkeys(_unmet(node[step].needs, node, steps, seen)))
    turning = [node[aim.step] for aim in procedure.advice.aims if aim.step in node]
    asked = {name for one in turning for name in one.depends_on}
    behind = [name for one in procedure.nodes if one.id in seen for name in one.proves if name in asked]
    names = dict.fromkeys((*behind, *node[step].depends_on))
    found += [name for name in names if proofs.get(name, OFF) not in (*STANDS, OFF)]
    return tuple(dict.fromkeys(found))


def _unmet(
    needs: Expression, node: Mapping[str, Node], steps: Mapping[str, str], seen: set[str]
) -> Iterator[str]:
    """Yield steps named by ``needs``, or behind these, that are not done; `seen` gathers those that are."""
    for operator, parts in needs.items():
        chosen = list(parts)
        if operator == "any":
            done = [part for part in chosen if _is_done(part, node, steps)]
            on_way = [part for part in chosen if not isinstance(part, str) or steps.get(part) != OFF]
            chosen = done or on_way or chosen
        for part in chosen:
            if not isinstance(part, str):
                yield from _unmet(part, node, steps, seen)
            elif steps.get(part) not in STANDS:
                yield part
            elif part not in seen:
                seen.add(part)
                yield from _unmet(node[part].needs, node, steps, seen)


def _is_done(part: str | Expression, node: Mapping[str, Node], steps: Mapping[str, str]) -> bool:
    if isinstance(part, str):
        return steps.get(part) in STANDS
    return not any(_unmet(part, node, steps, set()))
