"""Words of the causes: what it is, how to tell it apart, the safe next action. One catalogue per language.

Ids are ``cause.ROW.name``, ``.tell``, ``.then`` and ``.high``, what is done where a pressure stands too high;
rows of the design handbook's fault matrix. No sentence
carries an amount, so the words are the same in all units.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from string import Formatter

from steadyhead.records.procedure import Message

_HOLD = "Close {iv2} slowly, open {td} fully, then close {iv1} slowly. "
_DOWN = "Close {iv2} slowly, open {td} fully, close {iv1} slowly to the V2 opening. "
_VENTED = "No cover or plug is loosened before a live gauge of that section shows zero. "
_WIDE = (
    "Before its chamber is vented: {iv1} nearly shut, {iv2} shut, {td} open. The valve opens wide, "
    "what protects may act. "
)
_GAUGE = "No screw is turned on this reading. "
_READY = "{iv2} shut, {iv1} at the V2 opening, {td} open first. "
_PROOF = "Back out, consumers stay shut off. "

HIGH = (
    "First open {td} fully and draw water. Close {iv1} slowly until {t3} comes down, {iv2} slowly to shut. "
    "Tell the control room. "
)
"""What protects, whatever the cause of a pressure that stands too high; handbook 7.3."""
HIGH_THEN: Mapping[str, str] = {
    "28": "{td} stays open. " + _VENTED + "Then open and clean {st}.",
    "29": "{td} stays open. Compare the turns with the opening this step asks for once {t3} is down.",
    "30": "{td} stays open. Open {valve} again only with {t3} at duty; tell the control room.",
    "31": "{td} stays open. Look at exhaust and vent path; overhaul before the next proof.",
    "33": "{td} stays open. Note flow and position; the capacity is judged at the desk.",
    "35": "{td} stays open, {iv2} shut. Find the open boundary with the control room.",
    "39": "{td} stays open. Note it; the tap is moved another day, by the owner's order.",
    "57": "{td} stays open until {t3} is down.",
    "58": "{td} stays open. {valve} is opened only with {t3} down, slowly, in the right direction.",
    "66": "{td} stays open. Lower the reducer. Clear and screen the port, then prove again.",
    "B2.in": "Nothing else is opened. Shut a valve further up, or stop here.",
    "B2.out": "Nothing else is opened. Shut another boundary on the consumer side.",
}
"""The next action behind `HIGH`, for causes whose usual one would shut the drain or open a valve; others keep
theirs."""

EN: Mapping[str, tuple[str, str, str]] = {
    "0": (
        "as expected",
        "The readings lie where a sound station shows them.",
        "Take the reading again, let it stand still, and go on by the step.",
    ),
    "0.left": (
        "as expected",
        "The readings lie where the station shows them as it was left on {on}.",
        "Take the reading again, let it stand still, and go on by the step.",
    ),
    "1": (
        "feed of {rv} blocked",
        "Its chamber cannot fill: with {iv2} shut, {td} open, its cock opened briefly gives little water.",
        _HOLD + "See zero, then clean filter and bore.",
    ),
    "2": (
        "inlet cock of pilot {rv} shut",
        "Look at the cock between the inlet and the chamber of {rv}.",
        _DOWN + "Open the cock slowly and watch {t3} come down.",
    ),
    "3": (
        "outlet cock of pilot {rv} shut",
        "The chamber cannot empty: with the cock a little open the valve answers.",
        _READY + "Open the cock a little, watch {t3}, then fully.",
    ),
    "4": (
        "chamber of {rv} locked",
        "The stem stays where it is while {t3} changes with the flow; look at the chamber cock.",
        _DOWN + "Open the chamber cock slowly.",
    ),
    "5": (
        "sensing line of {rv} shut, low",
        "The gauge of the pilot stands still below {t3}; bled at its cock, the line gives little water.",
        _HOLD + "Then look at the sensing cock; clear the line only once it is vented.",
    ),
    "6": (
        "sensing line of {rv} shut, high",
        "The gauge of the pilot stands still above {t3}; bled at the pilot, the valve wakes.",
        _READY + "Open the sensing cock slowly.",
    ),
    "7": (
        "dirt on the pilot seat, {rv}",
        "Shut the outlet cock of the pilot: {t3} stops rising at once, so the pilot leaks.",
        _HOLD + "Clean or renew the pilot seat with the section vented.",
    ),
    "8": (
        "pilot of {rv} stuck closed",
        "A quarter turn up, then down again, brings no answer.",
        _WIDE + "Leave {rv} for overhaul.",
    ),
    "9": (
        "pilot diaphragm of {rv} torn",
        "Water comes from the bonnet breather, not from the exhaust port.",
        _HOLD + "Renew the diaphragm with the section vented; look at others of its age.",
    ),
    "10": (
        "main diaphragm of {rv} torn",
        "Both pilot cocks shut, the cover vent runs on.",
        _WIDE + "Renew it once a live gauge shows zero.",
    ),
    "11": (
        "main seat of {rv} passes",
        "Outlet cock of the pilot shut: {t3} rises on, and no other way past it is open.",
        _READY + "Flush the seat by a short high flow; if it still passes, renew it vented.",
    ),
    "12": (
        "bypass open or passing",
        "Listen and feel at the bypass; shut its upstream valve, and the rise stops.",
        _READY + "Shut the bypass and lock it.",
    ),
    "21": (
        "spring of {rv} too weak",
        "The last turns bring no rise; compare the mark on the spring with the file.",
        "Open {td}, lower the screw to its start. The right spring goes in with the section vented.",
    ),
    "22": (
        "spring of {rv} too stiff",
        "Each turn brings more than half as much again as the table says.",
        "Stop turning, open {td} fully and lower the screw to its start. Turn on only by the stiffer table.",
    ),
    "23": (
        "lock nut of {rv} moved it",
        "The mark line between nut and screw has moved, or the reading changed with the nut.",
        "With {td} running lower the reading below duty, set again from below, tighten the nut, read again.",
    ),
    "24": (
        "pilots or springs exchanged",
        "Compare plates and springs of reducer and shut-off with the file.",
        _HOLD + "Change them back with the section vented; every proof is done again.",
    ),
    "25": (
        "setting of {rv} was changed",
        "Compare screw height and seal with the last visit.",
        "Write it down as found first. Set it only where this visit may, with {td} running.",
    ),
    "25.trip": (
        "setting of {so} was changed",
        "Compare screw height and seal with the last visit.",
        "Write it down as found. Lower the reducer with {td} running; set {so} only where this visit may, "
        "then prove again.",
    ),
    "26": (
        "gauge at {tap} isolated or stuck",
        "Shut its cock and vent it: a live gauge goes to zero and comes back.",
        _GAUGE + "Open the cock or change the gauge; read again.",
    ),
    "27.psi": (
        "bar and psi exchanged",
        "Look at the unit on the dial and at the unit beside the number typed.",
        _GAUGE + "Enter the number again in the unit of the dial.",
    ),
    "27.kpa": (
        "bar and kPa exchanged",
        "Look at the unit on the dial and at the unit beside the number typed.",
        _GAUGE + "Enter the number again in the unit of the dial.",
    ),
    "27.head": (
        "bar and metres exchanged",
        "Look at the unit on the dial and at the unit beside the number typed.",
        _GAUGE + "Enter the number again in the unit of the dial.",
    ),
    "27.height": (
        "gauge at {tap} at another height",
        "Hold it level with the tap, hose full of water: the difference goes.",
        _GAUGE + "Read at the height the plan assumes, or note the height.",
    ),
    "27.air": (
        "air in the hose at {tap}",
        "The needle comes slowly and moves when the hose is lifted.",
        _GAUGE + "Bleed the hose at the gauge until water comes; stand aside.",
    ),
    "27.zero": (
        "gauge at {tap} reads off",
        "Vented it does not return to zero, or a second gauge on the same tap differs.",
        _GAUGE + "Set it aside, tag it, read with another one.",
    ),
    "27.tap": (
        "gauge at {tap} on another tap",
        "Follow the tube from the gauge to the pipe.",
        _GAUGE + "Shut the cock, vent the hose, move it to the right tap.",
    ),
    "28": (
        "strainer {st} blocked",
        "One gauge moved from before it to behind it: the loss grows with the square of the flow.",
        "Close {td}, {iv2} and {iv1} slowly. Vent, see zero on a live gauge there, then open and clean {st}.",
    ),
    "29": (
        "{valve} not open far enough",
        "Count the turns from shut; the pressure behind it sags with the flow.",
        "Compare with the opening this step asks for. Open slowly to it, no further, and watch {t3}.",
    ),
    "29.more": (
        "{valve} open too far",
        "Count the turns from shut: more than the V2 opening.",
        "{td} stays open. Close {valve} slowly to the V2 opening before anything is raised.",
    ),
    "30": (
        "{valve} throttled",
        "One gauge moved across it: the loss goes with the flow; count its turns.",
        "Open it slowly, in stages, with {t3} held; tell the control room.",
    ),
    "31": (
        "{so} not fully open",
        "Look at its indicator; the loss across it grows with the square of the flow.",
        "Close {td} slowly. Look at exhaust and vent path; overhaul before the next proof.",
    ),
    "32": (
        "inlet pressure low",
        "The reading ahead of the valves is low as well, and so is the neighbourhood.",
        "Stop raising. Ask the control room; go on when the inlet is back in its range.",
    ),
    "33": (
        "{rv} too small or not lifting",
        "It stands wide open while the inlet holds.",
        "Close {td} slowly. Note flow and position; the capacity is judged at the desk.",
    ),
    "35": (
        "another zone feeds back",
        "{iv2} shut, the consumer side stays up and {t3} goes back to normal; flow is nil or backwards.",
        "Close {iv2} slowly, tell the control room, find the open boundary.",
    ),
    "36": (
        "shut water grew warmer",
        "Draw a litre: it drops at once and does not rise again; the pipe wall is warmer.",
        "Draw a little at {td} and read again; note the wall temperature.",
    ),
    "39": (
        "tap of {rv} in disturbed flow",
        "It is off by the square of the flow; a tap further down reads otherwise.",
        "Close {td} slowly. Note it; the tap is moved another day, by the owner's order.",
    ),
    "40": (
        "breather of {rv} under water",
        "Water stands above the spring cap; pumped out, the reading comes back.",
        "Leave the chamber if water rises. Pump it out from outside first, then read again.",
    ),
    "43": (
        "sensing line of {so} throttled",
        "Its own gauge lags behind {t3}; bled at its cock, the line gives little water.",
        "Open {td} fully, lower the reducer. " + _PROOF + "Open the sensing cock and prove again.",
    ),
    "44": (
        "closing filter of {so} dirty",
        "The pilot switches and the valve crawls.",
        "Open {td}, lower the reducer, close {iv1}. Clean it with the section vented, prove again.",
    ),
    "45": (
        "pilot of {so} stiff",
        "The first run lies higher than the next ones.",
        "At the upper edge stop: open {td} fully, lower the reducer. The first value is noted as it is.",
    ),
    "47": (
        "{so} shuts but passes",
        "Shut by its own pilot, {t3} rises when {td} is shut, or {td} runs on.",
        "Open {td}, lower the reducer, close {iv1} slowly. " + _PROOF,
    ),
    "48": (
        "{so} stands shut",
        "Its indicator, its switch and a flow that dies say so.",
        "Do not reset yet. {iv2} shut, {td} open, {iv1} to the V2 opening; then reset by the step.",
    ),
    "48.trip": (
        "{so} acts too early",
        "It acts near duty already, on each run.",
        "Open {td}, lower the reducer, reset by the step. Note it as found; the ladder is looked at again.",
    ),
    "48.low": (
        "{so} set too low",
        "It closes before {t3} has come up; its screw has travel left.",
        "Open {td}, lower the reducer. Raise {so} by its dead band and some more, about two turns by common "
        "practice; wait for full opening, come back with half the turn.",
    ),
    "52": (
        "{relief} set low or dirty",
        "Water at its discharge below its mark.",
        "Lower the reducer, keep clear of the discharge. Its cock is shut only with somebody there, noted.",
    ),
    "53": (
        "{relief} shut off or blocked",
        "Look at its cock; nothing comes at the discharge.",
        "Stop raising: open {td}, lower the reducer. Open the cock and lock it before the next run.",
    ),
    "55": (
        "transmitter off",
        "Compare its value with a live gauge on the same tap.",
        "Lower the outlet to duty with {td} running. Correct it, note the date, try the alarm again.",
    ),
    "57": (
        "{td} or a fitting runs",
        "Look at the end of the hose: water runs while the section should stand.",
        "Shut {td}, wait until {t3} stands, read again.",
    ),
    "58": (
        "{valve} shut, thought open",
        "It turns the other way: count turns and read its plate.",
        "{td} stays open. Open {valve} slowly in the right direction, to the opening of this step.",
    ),
    "59": (
        "main diaphragm of {so} torn",
        "The pilot switches and the stem stays or crawls; with the feed shut the cover bleed runs on.",
        "Open {td} fully, lower the reducer, close {iv1} slowly. " + _PROOF + _VENTED,
    ),
    "60": (
        "closing needle of {so} shut in",
        "Count its turns against the last visit; look at the feed cock.",
        "Open {td}, lower the reducer. Needle back to its turns; prove again.",
    ),
    "60.fast": (
        "closing needle of {so} too open",
        "Count its turns against the last visit.",
        "No further run: each one hits the main. Needle back to its turns, then prove again at trickle.",
    ),
    "61": (
        "chamber or feed tube broken, {rv}",
        "A jet or a wet tube.",
        "Keep clear of the jet. " + _HOLD + "New tube and bleed with the section vented.",
    ),
    "62": (
        "sensing tube of {rv} broken",
        "A wet tube; the gauge of the pilot shows nothing.",
        "Keep clear of the jet. " + _HOLD + "New tube, then prove again.",
    ),
    "63": (
        "shared sensing cock shut",
        "The gauges of both pilots stand still at one value: the shut-off is blind as well.",
        _DOWN + "Nothing protects now. Open the root cock slowly, then prove the shut-off.",
    ),
    "64": (
        "{so} left raised",
        "Compare its screw height with the last visit; look for an override left in.",
        "Stop at the upper edge: open {td} fully, lower the reducer. Note it, restore, prove again.",
    ),
    "65": (
        "breather of {so} under water",
        "Water stands above its pilot.",
        "Open {td}, lower the reducer. Leave if the water rises; pump out, then prove again.",
    ),
    "66": (
        "exhaust of {so} plugged",
        "The indicator leaves OPEN; clearing the port frees it.",
        "Close {td} slowly, lower the reducer. Clear and screen the port, then prove again.",
    ),
    "B2.in": (
        "{valve} passes",
        "The drain ahead of the valves runs on.",
        "Nothing is opened. Shut a valve further up, or stop here.",
    ),
    "B2.out": (
        "{valve} passes backwards",
        "{td} runs on while the inlet is shut.",
        "Nothing is opened. Measure the leak; shut another boundary on the consumer side.",
    ),
    "B2.kept": (
        "pressure kept at {tap}",
        "Its own drain brings it down, another drain does not.",
        "Stand aside, open the drain of that very section, loosen nothing before its live gauge shows zero.",
    ),
}
NONE = (
    "none of these fits",
    "No cause the station model knows shows these readings together.",
    "Stop raising, open {td}, lower what was raised. Check gauge, tap, unit and flow once more, then ask.",
)
ABSENT = {
    "same": "No reading of this step shows it.",
    "part": "The station has no such part.",
    "time": "It shows in time, not in a steady reading.",
    "seen": "It is seen or heard, not read on a gauge.",
    "outside": "It lies in the zone, outside the station model.",
    "streams": "It needs two streams in service together.",
    "other": "It reads as the line it froze: rows 1, 3, 5 or 6.",
}
_PARTS = {"name": 0, "tell": 1, "then": 2}
LANGUAGES = {"en": EN}


def is_known(text_id: str, language: str = "en") -> bool:
    """Return whether the catalogue has this text."""
    return _found(text_id, language) is not None


def say(message: Message, language: str = "en") -> str:
    """Return the words of a cause.

    Raises
    ------
    KeyError
        An id the catalogue does not have, or a parameter the words need and the message lacks.

    Examples
    --------
    >>> say(Message("cause.28.name", {"st": "ST"}))
    'strainer ST blocked'
    """
    text = _found(message.id, language)
    if text is None:
        raise KeyError(message.id)
    return text.format_map({name: message.params[name] for name in fields(message.id, language)}).strip()


@cache
def fields(text_id: str, language: str = "en") -> frozenset[str]:
    """Return the parameters a text needs."""
    text = _found(text_id, language) or ""
    return frozenset(name for _, name, _, _ in Formatter().parse(text) if name)


def _found(text_id: str, language: str) -> str | None:
    head, _, rest = text_id.partition(".")
    if head == "absent":
        return ABSENT.get(rest)
    row, _, part = rest.rpartition(".")
    if head == "cause" and part == "high":
        usual = NONE if row == "none" else LANGUAGES[language].get(row)
        return None if usual is None else HIGH + HIGH_THEN.get(row, usual[_PARTS["then"]])
    texts = NONE if row == "none" else LANGUAGES[language].get(row)
    if head != "cause" or texts is None or part not in _PARTS:
        return None
    return texts[_PARTS[part]]
