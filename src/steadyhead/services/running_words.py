"""Remarks of the judge as findings: names, amounts and reasons in the words of the plan."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from steadyhead.findings import Amount, Finding, Severity
from steadyhead.findings.model import Parameter
from steadyhead.procedure.ledger import Ledger
from steadyhead.records.procedure import Procedure
from steadyhead.records.run import Remark
from steadyhead.units import METRIC, UnitSet
from steadyhead.visits.texts import say
from steadyhead.visits.texts.saying import amount, band_words, edges

UNFIT: Mapping[str, str] = {
    "other kind": "its value is not of the kind asked for.",
    "refusal": "it is answered with a refusal. Say who was told, or what was found.",
    "no tap": "it does not say at which tap.",
    "other tap": "it was read at {got}; asked is {asked}.",
    "other quantity": "what was read is {got}; asked is {asked}.",
    "lacks": "it does not say the {key} at that time.",
    "no instrument": "it does not say with which instrument.",
    "not described": "{instrument} is not described in this run.",
    "no due date": "the date by which {instrument} is due is not stated.",
    "overdue": "{instrument} was {days} days past its date.",
    "measures another quantity": "{instrument} measures {got}.",
    "class not known": "the class of {instrument} is not known.",
    "too coarse": "{instrument} may be wrong by {error}; {limit} is the most for this reading.",
    "division too coarse": "{instrument} is read to {read}, a quarter of its division; {limit} is the most "
    "for this reading.",
    "zero off": "{instrument} showed {zero} at no pressure; {limit} is the most its class explains. Say by "
    "how much the reading was corrected, or read it with another.",
    "beyond its range": "{value} lies beyond the range of {instrument}, {low} to {high}.",
    "cannot be": "{value} cannot stand there while all holds; what feeds that place brings {high} at the "
    "most. Read again.",
    "swings": "it swings; mean and swing are recorded.",
    "not said how still": "it does not say how long and within what it stood still.",
    "held too short": "it stood still for {held}; asked are {limit}.",
    "moved too much": "it moved by {within}; {limit} is the most.",
}
STRAY: Mapping[str, str] = {
    "other way": "this step is not on the way that was chosen.",
    "kind": "this program does not know such an entry.",
    "no step": "the plan has no such step.",
    "no input": "this step does not ask for {input}.",
    "no choice": "the plan has no such choice or option.",
    "amends nothing": "what it corrects or voids is not there.",
    "other run": "{count} entries belong to another run and are not judged.",
    "nobody": "signed, or agreed to, by {who}: the run knows nobody of that name. Describe who it is: "
    "person name=NAME role=ROLE.",
    "other visit": "it says the visit is {got}; the plan is for {asked}.",
    "no plan": "the run names no plan, and {count} of its steps are none of this one.",
    "other plan": "the run was made with the plan {got}…; this is {asked}…",
}
CLOCK: Mapping[str, str] = {
    "ahead": "an entry lies {by} ahead of the clock of this judge.",
    "back": "its clock went back by {by} between two entries.",
    "set": "its clock and its running seconds differ by {by} between two entries.",
    "by hand": "{count} of its entries carry a time given by hand, after the event.",
    "one number twice": "two entries carry one number.",
}
TOOL: Mapping[str, str] = {
    "anew": "described anew after {count} readings with it. They are held against both descriptions.",
    "after": "described only after {count} readings with it.",
}
DEVIATION: Mapping[str, tuple[str, str]] = {
    "never": ("this can be accepted by nobody.", "Put it right, or sign as provisional."),
    "lacks": ("it does not say: {lacks}.", "Complete it."),
    "past": ("its due date, {due}, was past on the day it was written.", "Give a day that can be kept."),
    "tester": (
        "{by} accepts it and tested in this run.",
        "Somebody else accepts it who answers for the station.",
    ),
    "nothing": (
        "nothing stands there that it could accept, or it was written before that.",
        "Write it after what it accepts.",
    ),
}
UNNAMED, UNKNOWN = "it does not say of what", "the plan has no such thing"
"""What is amiss with a thing nobody can place."""
MEND: Mapping[Severity, str] = {
    Severity.STOP: "Do it in its place, or do it again. No deviation makes it good.",
    Severity.ASK: "Do it, or do it again; or record a deviation: what, risk, owner, due date, accepted by.",
}
_SECONDS = ("by", "held")
DAYS = 2.0
"""From how many days on a difference of clocks is told in days. Own choice."""


class Speaker:
    """Puts remarks into words.

    Parameters
    ----------
    procedure
        The plan the remarks are about.
    ledger
        The entries they come from.
    units
        The reader's.
    """

    def __init__(self, procedure: Procedure, ledger: Ledger, units: UnitSet = METRIC) -> None:
        self._plan, self._units = procedure, units
        self._entry = {entry.id: entry for entry in ledger.forms}
        self._kind = {(node.id, one.name): one.quantity for node in procedure.nodes for one in node.inputs}

    def finding(self, remark: Remark, severity: Severity) -> Finding:
        """Return one remark as a finding of that weight."""
        words: dict[str, Parameter] = {name: self._word(remark, name) for name in remark.params}
        words |= self._banded(remark)
        words |= self._when(remark)
        words["mend"] = MEND.get(severity, MEND[Severity.ASK])
        told = _REASONS.get(remark.code)
        if told is not None:
            words["how"] = told(str(remark.params.get("why"))).format_map(_Said(words, self._units))
        if remark.code == "RUN-51":
            words["unplaced"] = UNNAMED if remark.about == remark.params["do"] else UNKNOWN
        if remark.code == "RUN-16":
            words["then"] = DEVIATION[str(remark.params["why"])][1]
        if remark.message is not None:
            words["seen"] = say(remark.message, self._units)
            words["then"] = self._then(remark)
        return Finding(remark.code, self.name(remark.about), severity, words)

    def _banded(self, remark: Remark) -> dict[str, Parameter]:
        """Return both ends of a band as it is told everywhere: rounded into the band."""
        kind = self._quantity(remark, "low") if remark.code in _BANDED else ""
        if remark.code not in _BANDED:
            return {}
        if not kind:
            low_, high_ = (str(self._word(remark, name)) for name in ("low", "high"))
            return {"band": band_words(low_, high_)}
        ends = [remark.params.get(name) for name in ("low", "high")]
        low, high = (float(one) if isinstance(one, int | float) else None for one in ends)
        told = edges(low, high, kind, self._units)
        return {"low": told[0], "high": told[1], "band": band_words(*told)}

    def name(self, name: str) -> str:
        """Return what a step, proof, thing or item is called, its name in the plan first."""
        said = self._plan.names.get(name)
        return f"{name} ({say(said, self._units)})" if said is not None else name

    def _then(self, remark: Remark) -> str:
        for node in self._plan.nodes:
            for one in node.otherwise if node.id == remark.about else ():
                if one.see == remark.message:
                    return f"{say(one.meaning, self._units)} {say(one.then, self._units)}"
        return ""

    def _when(self, remark: Remark) -> dict[str, Parameter]:
        entry = self._entry.get(remark.entries[-1]) if remark.entries else None
        if entry is None:
            return {"when": "a time not known", "who": "somebody"}
        return {"when": f"{entry.clock:%H:%M:%S on %d %b %Y}", "who": entry.who or entry.device}

    def _word(self, remark: Remark, name: str) -> Parameter:
        value = remark.params[name]
        if name == "input":
            label = self._plan.names.get(f"{remark.about}/{value}")
            return say(label, self._units) if label is not None else str(value)
        if name in ("thing", "on"):
            return self.name(str(value))
        if name == "lacks":
            return str(value).replace("@choice", "what is chosen").replace("@tick", "that it is done")
        if isinstance(value, bool):
            return "yes" if value else "no"
        if value is None:
            return "any"
        if isinstance(value, str):
            return value
        if name in ("days", "forms", "count"):
            return f"{value:.0f}"
        if name == "by" and isinstance(value, int | float) and abs(value) >= DAYS * 86400.0:
            return f"{value / 86400.0:.0f} days"
        kind = self._quantity(remark, name)
        return Amount(kind, float(value)) if kind else f"{value:.3g}"

    def _quantity(self, remark: Remark, name: str) -> str:
        why = remark.params.get("why")
        if name in _SECONDS or (name == "limit" and why == "held too short"):
            return "time"
        kind = self._kind.get((remark.about, str(remark.params.get("input"))), _UNASKED.get(remark.code, ""))
        return "" if kind in ("count", "yes_no", "text", "photo") else kind


class _Said(dict[str, str]):
    """Parameters as text, for a reason."""

    def __init__(self, words: Mapping[str, Parameter], units: UnitSet) -> None:
        super().__init__({name: _text(value, units) for name, value in words.items()})


def _text(value: Parameter, units: UnitSet) -> str:
    return amount(value, units) if isinstance(value, Amount) else str(value)


_BANDED = ("RUN-14", "RUN-59")
"""Remarks that tell a band."""
_UNASKED: Mapping[str, str] = {"RUN-59": "pressure"}
"""What is meant by a figure of an input that no step asks for."""
_REASONS: Mapping[str, Callable[[str], str]] = {
    "RUN-03": lambda why: CLOCK[why],
    "RUN-05": lambda why: STRAY[why],
    "RUN-06": lambda why: UNFIT[why],
    "RUN-16": lambda why: DEVIATION[why][0],
    "RUN-91": lambda why: TOOL[why],
}
