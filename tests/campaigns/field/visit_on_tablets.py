"""One sequence on two tablets in real browsers, and what does not hold after it."""

from __future__ import annotations

import json
import random
import time
from collections import Counter
from pathlib import Path
from typing import Any

from tests.campaigns.field.holding import CONFLICT, Seen, look, photos_amiss, same
from tests.campaigns.field.house import STEP, House, run_name
from tests.campaigns.field.line import KILLS, PHOTO_FAULTS, Line
from tests.campaigns.field.picture import picture
from tests.campaigns.field.tablet import Tablet
from tests.services.field.light import KEY

REPEATS = ("request repeated", "request repeated late", "answer lost")
FAULTS = (
    "killed browser", "killed server", "tab closed", "sync repeated", "two devices in conflict",
    "clock wrong by hours", "storage full", "login expired",
)  # fmt: skip
LATER, KILLED_ON_ITS_WAY = "photo sent later", "server killed with a photo on its way"
COUNTED = (*FAULTS, LATER, KILLED_ON_ITS_WAY)
"""What must have struck often in a whole campaign."""
PHOTOS = 0.25
"""Share of entries that are photos. [1]"""
SETTLES = 60.0
"""How long the tablets may take to have sent everything at the end. [s]"""
FULL_AT = 1000
"""Size the storage is set to where it is to be full. [bytes]"""


class VisitOnTablets:
    """Two tablets, one visit, and the faults that are drawn for it."""

    def __init__(
        self, house: House, line: Line, driver: Any, folder: Path, seed: int, number: int, count: int
    ) -> None:
        self.chance = random.Random(seed)
        self.house, self.line = house, line
        self.run = run_name(number)
        self.count = count
        self.met: Counter[str] = Counter()
        self.totals: Counter[str] = Counter()
        self.wrong: list[str] = []
        self.answers: list[bool] = []
        self.acts = 0
        self.tablets = [
            Tablet(name, driver, line.address, folder / f"{name} {number}", self.run)
            for name in ("one", "two")
        ]

    def play(self, faults: list[str]) -> list[str]:
        """Play it through and return what does not hold at the end."""
        self.line.calm()
        self.line.met.clear()
        self.house.open()
        before = self.line.syncs
        try:
            for tablet in self.tablets:
                tablet.open(self.house.sign_in(tablet.name))
                tablet.take_along(KEY)
            self._play(faults)
            self._calm()
        finally:
            for tablet in self.tablets:
                self.wrong += tablet.faults
                tablet.close()
        self._look()
        self.totals["syncs"] += self.line.syncs - before
        return self.wrong

    def _play(self, faults: list[str]) -> None:
        acts = [*dict.fromkeys(faults), *["entry"] * self.chance.randint(2, 3), "photo_sent_later"]
        self.chance.shuffle(acts)
        acts.sort(key=lambda act: act == "two devices in conflict")  # after it the page says Stop
        for act in acts:
            if not self.house.is_open and self.chance.random() < 0.6:
                self.house.open()
            getattr(self, act.replace(" ", "_"))(self.chance.choice(self.tablets))

    def _words(self, tablet: Tablet) -> str:
        self.acts += 1
        return f"{self.run} {tablet.name} act {self.acts}"

    def note(self, tablet: Tablet) -> bool:
        """Note something."""
        return tablet.note(self._words(tablet))

    def entry(self, tablet: Tablet, *, pid: int = 0, waits: float | None = None) -> bool:
        """Note something, or take a photo; return whether the page shows it as kept."""
        if self.chance.random() < PHOTOS:
            return tablet.photo(picture(self.chance), pid=pid, waits=waits)
        return tablet.note(self._words(tablet), pid=pid, waits=waits)

    # what goes wrong

    def photo_sent_later(self, tablet: Tablet) -> None:
        """Take a photo without a signal; on its way later the server is killed, or the answer is lost."""
        self.line.is_cut = True
        try:
            is_kept = tablet.photo(picture(self.chance))
        finally:
            self.line.is_cut = False
        self.house.open()
        fault = self.chance.choice(PHOTO_FAULTS)
        met = f"photo, {fault}"
        before = self.line.met.get(met, 0)
        self.line.photo_faults.append(fault)
        tablet.online()
        tablet.until(lambda: self.line.met.get(met, 0) > before, met, 30.0)
        self.met[LATER] += is_kept
        self.met[KILLED_ON_ITS_WAY] += fault in KILLS

    def killed_browser(self, tablet: Tablet) -> None:
        """End the browser by SIGKILL amid a note, or amid what it sends after one."""
        pid = tablet.pid()
        if self.chance.random() < 0.6:
            self.entry(tablet, pid=pid, waits=self.chance.uniform(0.0, 0.04))
        else:
            self.note(tablet)
            time.sleep(self.chance.uniform(0.0, 0.1))
            tablet.kill(pid)
        tablet.open(self.house.sign_in(tablet.name))
        tablet.again()
        self.met["killed browser"] += 1

    def killed_server(self, tablet: Tablet) -> None:
        """Let the server be killed amid a sync, before or after its commit."""
        self.house.open()
        fault = self.chance.choice(KILLS)
        self._strikes(tablet, fault)
        self.met["killed server"] += self.line.met.get(fault, 0) > 0

    def sync_repeated(self, tablet: Tablet) -> None:
        """Let a sync be asked twice, or its answer be lost, so that it is asked again."""
        self.house.open()
        fault = self.chance.choice(REPEATS)
        self._strikes(tablet, fault)
        self.met["sync repeated"] += self.line.met.get(fault, 0) > 0

    def _strikes(self, tablet: Tablet, fault: str) -> None:
        """Let the next sync go wrong, and see that it did."""
        before = self.line.met.get(fault, 0)
        self.line.faults.append(fault)
        self.note(tablet)
        tablet.online()
        tablet.until(lambda: self.line.met.get(fault, 0) > before, fault, 30.0)

    def tab_closed(self, tablet: Tablet) -> None:
        """Close the page amid a note, or amid what it sends, and open it again in another one."""
        if self.chance.random() < 0.6:
            self.entry(tablet, waits=self.chance.uniform(0.0, 0.03))
        else:
            self.note(tablet)
        tablet.close_tab()
        tablet.again()
        self.met["tab closed"] += 1

    def clock_wrong_by_hours(self, tablet: Tablet) -> None:
        """Set the clock hours off and note; mostly open the page anew meanwhile, and set it back."""
        tablet.set_clock(self.chance.choice((-30.0, -7.0, -2.0, 1.0, 5.0, 26.0)))
        self.note(tablet)
        if self.chance.random() < 0.4:
            tablet.again()
        self.note(tablet)
        if self.chance.random() < 0.7:
            tablet.set_clock(0.0)
            self.note(tablet)
        self.met["clock wrong by hours"] += 1

    def storage_full(self, tablet: Tablet) -> None:
        """Let the storage be full: what it does not take is not shown as kept."""
        tablet.close()  # a browser that runs believes for half a minute that there is room
        tablet.open(self.house.sign_in(tablet.name))
        tablet.room(FULL_AT)
        tablet.again()
        kept = [self.note(tablet), self.entry(tablet)]
        self.met["storage full"] += not all(kept)
        way = self.chance.random()
        if way < 0.4:
            tablet.room(None)
            self.note(tablet)
        elif way < 0.7:
            tablet.kill()
            tablet.open(self.house.sign_in(tablet.name))
            tablet.again()
        else:
            tablet.room(None)

    def login_expired(self, tablet: Tablet) -> None:
        """Let the session end amid the visit, go on, and sign in again later."""
        self.house.open()
        self.house.sign_out(tablet.name)
        self.entry(tablet)
        tablet.online()
        if not self.line.faults:
            tablet.until(
                lambda: "Sign in again, nothing is lost." in tablet.line(), "that nobody is signed in", 30.0
            )
            self.met["login expired"] += 1
        self.entry(tablet)
        tablet.sign_in(self.house.sign_in(tablet.name))
        tablet.online()

    def two_devices_in_conflict(self, _: Tablet) -> None:
        """Let both answer one question of a step, each otherwise, while there is no signal."""
        for tablet in self.tablets:  # a note behind the answers would settle what differs
            tablet.room(None)
            self.note(tablet)
        self.line.is_cut = True
        both = [True, False]
        self.chance.shuffle(both)
        for tablet, answer in zip(self.tablets, both, strict=True):
            if tablet.say(answer):
                self.answers.append(answer)
        self.line.is_cut = False
        self.met["two devices in conflict"] += len(self.answers) == 2

    # the end

    def _calm(self) -> None:
        """Let all be well, and wait until both tablets say that everything is sent, of as many entries."""
        self.line.calm()
        self.house.trap_off()
        self.house.open()
        for tablet in self.tablets:
            tablet.sign_in(self.house.sign_in(tablet.name))
            tablet.room(None)
            if not self.answers:
                self.note(tablet)  # with it a storage that was full takes what it had left in memory
        until = time.monotonic() + SETTLES
        lines = [""]
        while time.monotonic() < until:
            self.house.open()  # one that was told to end may have ended only now
            for tablet in self.tablets:
                tablet.online()
                time.sleep(0.3)
            lines = [tablet.line() for tablet in self.tablets]
            counts = {tablet.count() for tablet in self.tablets}
            if len(counts) == 1 and all("Everything is sent." in line for line in lines):
                self.counted = counts.pop()
                return
        self.counted = 0
        self.wrong.append(f"at the end the pages say: {' / '.join(lines)}")

    def _look(self) -> None:
        seen = look(self.house.place, self.run)
        fresh = [json.loads(line) for line in seen.lines[self.count :]]
        taken = [one for tablet in self.tablets for one in tablet.taken]
        shot = [one for tablet in self.tablets for one in tablet.shot]
        self.wrong += [*self._kept(fresh), *self._others(fresh), *self._rest(seen, fresh)]
        self.wrong += photos_amiss(seen, taken, shot)
        self.totals["photos kept"] += len(shot)
        self.totals["photos"] += len(seen.photos)
        self.totals["touched again"] += sum(tablet.touched_again for tablet in self.tablets)
        self.totals["kept"] += sum(len(tablet.shown) for tablet in self.tablets) + len(self.answers)
        self.totals["register"] += len(fresh)
        self.totals["verdicts"] += self.counted > 0

    def _kept(self, fresh: list[dict[str, Any]]) -> list[str]:
        """Return what was shown as kept and is not in the register exactly once."""
        texts = Counter(str(one["payload"].get("text", "")) for one in fresh)
        shown = [words for tablet in self.tablets for words in tablet.shown]
        found = [
            f"shown as kept, {texts[one]} times in the register: {one}" for one in shown if texts[one] != 1
        ]
        digests = Counter(one["payload"]["sha256"] for one in fresh if one["kind"] == "photo")
        shot = [one for tablet in self.tablets for one in tablet.shot]
        found += [
            f"photo shown as kept, {digests[one]} entries name it: {one}" for one in shot if digests[one] != 1
        ]
        said = Counter(one["payload"]["value"] for one in fresh if one["kind"] == "observation")
        found += [f"shown as kept, {said[one]} times: answer {one}" for one in self.answers if said[one] != 1]
        return found

    def _others(self, fresh: list[dict[str, Any]]) -> list[str]:
        """Return what is in the register and nobody entered, or is there twice."""
        attempts = {words for tablet in self.tablets for words in tablet.attempts}
        texts = Counter(str(one["payload"].get("text", "")) for one in fresh if one["kind"] == "note")
        found = [f"nobody noted it: {text}" for text in texts if text not in attempts]
        found += [
            f"noted once, {count} times in the register: {text}" for text, count in texts.items() if count > 1
        ]
        kinds = Counter(one["kind"] for one in fresh)
        others = {
            kind: count
            for kind, count in kinds.items()
            if kind not in ("note", "observation", "person", "photo")
        }
        if others:
            found.append(f"nobody entered it: {others}")
        if kinds["observation"] > 2:
            found.append(f"two answers were given, {kinds['observation']} are in the register")
        numbers = Counter((one["device"], one["device_seq"]) for one in fresh)
        return found + [f"number {number} twice" for number, count in numbers.items() if count > 1]

    def _rest(self, seen: Seen, fresh: list[dict[str, Any]]) -> list[str]:
        found = []
        if len({same(line) for line in seen.lines}) != len(seen.lines):
            found.append("a line is in the register twice")
        if self.counted and self.counted != len(seen.lines):
            found.append(f"the pages say {self.counted} entries, the register has {len(seen.lines)}")
        if seen.apart:
            found.append("a tablet judged otherwise than the register")
        if seen.refused:
            found.append(f"{len(seen.refused)} lines were refused")
        if len(self.answers) == 2 and not any(c == CONFLICT and STEP in about for c, about in seen.remarks):
            found.append(f"two tablets answered otherwise at {STEP}, and nothing says so")
        return found
