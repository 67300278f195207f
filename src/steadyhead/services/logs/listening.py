"""Listen to a broker (MQTT 3.1.1): what comes is on the disk before the broker hears so, then taken in.

The broker keeps for us what we have not said to have: its session outlives the connection, quality of
service is 1.
"""

from __future__ import annotations

import json
import queue
import shutil
import ssl
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.register.holding import hold
from steadyhead.services.logs.broker_file import Broker
from steadyhead.services.logs.journal import Appended, Came, Journal, folder_of, gathered
from steadyhead.services.logs.proposing import Given
from steadyhead.services.logs.pushing import push
from steadyhead.services.logs.watching import Outcome
from steadyhead.watch.messages import Topic, Unreadable, decoded

STATUS = "status.json"
KEEP_ALIVE = 15
"""After this silence the connection is tried. [s] Own estimate."""
AT_ONCE = 500
"""Most messages written before the disk is waited for."""
LARGEST = 64 * 2**20
"""A journal is closed at this size, however young it is. [bytes]"""
SLOWEST = 60
"""Longest wait before the broker is tried again; waits double from 1 s. [s] Own estimate."""
LATE = 10.0
"""After a longer break the time at which a message came is no time of its sample. [s] Own estimate."""
SILENCE, SHORTEST, LONGEST = 0.5, 1.0, 600.0
"""What the broker kept comes without such a silence [s], within these times after the connection [s]."""
Say = Callable[[str], None]


def client_kind() -> Any:
    """Return the module that speaks MQTT.

    Raises
    ------
    InputError
        It is not installed.
    """
    try:
        from paho.mqtt import client
    except ModuleNotFoundError:
        raise InputError("MQTT", "needs a package that is not here.", "Install steadyhead[mqtt].") from None
    return client


@dataclass(slots=True)
class Heard:
    """What has been heard, for whoever asks how it goes."""

    state: str = "not connected yet"
    since: str = ""
    messages: int = 0
    twice: int = 0
    aside: int = 0
    waiting: int = 0
    last: str = ""
    taken: str = ""
    refused: str = ""

    def words(self) -> str:
        """Return it in sentences."""
        parts = [
            f"The broker is {self.state}, since {self.since or 'never'}.",
            f"{self.messages} messages kept, the last {self.last or 'never'}; {self.twice} came twice;"
            f" {self.aside} put aside.",
        ]
        parts += [f"Taken in last: {self.taken}"] if self.taken else []
        parts += [f"{self.waiting} closed journals wait: {self.refused}"] if self.waiting else []
        return " ".join(parts)


@dataclass(frozen=True, slots=True)
class _Arrived:
    came: Came
    connection: int
    quality: int
    is_late: bool


@dataclass(slots=True)
class Listener:
    """Listens to one broker; `run` returns when `ended` is set.

    Parameters
    ----------
    broker, folder
        What is heard, and where messages lie until they are taken in.
    register, who
        What takes them in, and who answers for them.
    say
        Is told in a sentence what happens.
    """

    broker: Broker
    folder: Path
    register: Register
    who: str
    say: Say
    heard: Heard = field(default_factory=Heard)
    _arrived: queue.Queue[_Arrived] = field(default_factory=queue.Queue)
    _journals: dict[tuple[str, str], Journal] = field(default_factory=dict)
    _connection: int = 0
    _is_connected: bool = False
    _contact: float = 0.0
    _break: float = 0.0
    _begun: float | None = None
    _last: float = 0.0
    _meets: Any = None
    _under_way: Future[None] | None = None
    _tried: float = 0.0

    def run(self, ended: threading.Event) -> None:
        """Listen until `ended` is set; what has come is on the disk then, and taken in where it was due.

        Raises
        ------
        InputError
            The folder is in use or cannot be written, the password cannot be read, or MQTT is not installed.
        """
        mqtt = client_kind()
        self._meets = mqtt.topic_matches_sub
        held = hold(self.folder)
        client = None
        try:
            with suppress(OSError):
                self._contact = (self.folder / STATUS).stat().st_mtime
            self._found_again()
            client = self._client(mqtt)
            client.connect_async(self.broker.host, self.broker.port, KEEP_ALIVE)
            client.loop_start()
            with ThreadPoolExecutor(1) as pool:
                self._go_on(client, pool, ended)
        except OSError as problem:
            raise InputError(
                str(self.folder), f"cannot be written: {problem.strerror}.",
                "Make room and begin again; what was not written is still with the broker.",
            ) from None  # fmt: skip
        finally:
            if client is not None:
                client.disconnect()
                client.loop_stop()
            for one in self._journals.values():
                one.close()
            self._note("ended")
            held.let_go()

    def _go_on(self, client: Any, pool: ThreadPoolExecutor, ended: threading.Event) -> None:
        aside = Appended(self.folder / "aside.jsonl")
        noted = 0.0
        try:
            while not ended.is_set():
                group = self._group()
                if group:
                    self._keep(group, aside)
                    for one in group:
                        if one.quality and one.connection == self._connection:
                            client.ack(one.came.number, one.quality)
                self._turn(pool)
                if time.monotonic() - noted >= 1.0:
                    noted = time.monotonic()
                    self._note()
        finally:
            aside.close()

    def _group(self) -> list[_Arrived]:
        try:
            group = [self._arrived.get(timeout=0.2)]
        except queue.Empty:
            return []
        with suppress(queue.Empty):
            while len(group) < AT_ONCE:
                group.append(self._arrived.get_nowait())
        return group

    def _keep(self, group: list[_Arrived], aside: Appended) -> None:
        """Write messages; when this returns they are on the disk."""
        touched: dict[int, Journal] = {}
        for one in group:
            name = one.came.name
            topic = next((each for each in self.broker.topics if self._meets(each.filter, name)), None)
            try:
                journal = self._journal(topic, one)
            except Unreadable as problem:
                aside.add(one.came.line(str(problem)))
                self.heard.aside += 1
                continue
            if journal.has(one.came, is_stamped=topic is not None and bool(topic.time)):
                self.heard.twice += 1
                continue
            journal.add(one.came)
            touched[id(journal)] = journal
            self.heard.messages += 1
            self.heard.last = one.came.at.isoformat(timespec="seconds")
        for each in touched.values():
            each.settle()
        aside.settle()

    def _journal(self, topic: Topic | None, one: _Arrived) -> Journal:
        if topic is None:
            raise Unreadable("no topic of the broker's file meets it")
        decoded(topic, one.came.payload)
        if not topic.time and one.came.is_old:
            raise Unreadable("the broker kept it from before, and it does not say its time")
        if not topic.time and one.is_late:
            raise Unreadable("it waited at the broker while nobody listened, and it does not say its time")
        station = topic.station_of(one.came.name)
        if not station:
            raise Unreadable(f"its topic has no level {topic.station_at}")
        return self._of((station, topic.source))

    def _of(self, key: tuple[str, str]) -> Journal:
        if key not in self._journals:
            place = folder_of(self.folder, *key)
            place.mkdir(parents=True, exist_ok=True)
            named = place / "of.json"
            if not named.exists():
                beside = place / ".of.json"
                beside.write_text(json.dumps({"station": key[0], "source": key[1]}), "utf-8")
                beside.replace(named)
            self._journals[key] = Journal(place, *key)
        return self._journals[key]

    def _found_again(self) -> None:
        """Go on with the journals that are here from before."""
        for named in self.folder.glob("*/of.json"):
            told = json.loads(named.read_text("utf-8"))
            self._of((told["station"], told["source"]))

    def _turn(self, pool: ThreadPoolExecutor) -> None:
        """Close journals that are old enough and let what is closed be taken in, one at a time."""
        if self._under_way is not None:
            if not self._under_way.done():
                return
            self._under_way.result()
            self._under_way = None
        now = datetime.now(UTC)
        is_new = False
        for one in self._journals.values():
            is_old = one.began is not None and (now - one.began).total_seconds() >= self.broker.every
            if is_old or (one.began is not None and one.size >= LARGEST):
                one.turn()
                is_new = True
        if is_new or time.monotonic() - self._tried >= self.broker.every or not self._tried:
            self._tried = time.monotonic()
            waiting = [(one, path) for one in self._journals.values() for path in one.closed()]
            self._under_way = pool.submit(self._take_in, waiting)

    def _take_in(self, waiting: list[tuple[Journal, Path]]) -> None:
        left = 0
        for journal, path in waiting:
            outcome = taken_in(self.register, self.broker, journal, path, self.who, self._meets)
            if outcome.pushed is None:
                left += 1
                self.heard.refused = outcome.why
            else:
                self.heard.taken = outcome.words()
            self.say(outcome.words())
        self.heard.waiting = left

    def _note(self, state: str = "") -> None:
        """Leave word of how it goes; while connected this tells, too, until when nothing was missed."""
        if state:
            self._say_state(state)
        if self._is_connected or state or not (self.folder / STATUS).exists():
            told = {name: getattr(self.heard, name) for name in self.heard.__slots__}
            beside = self.folder / f".{STATUS}"
            with suppress(OSError):
                beside.write_text(json.dumps(told), "utf-8")
                beside.replace(self.folder / STATUS)

    def _say_state(self, state: str) -> None:
        if state != self.heard.state:
            self.heard.state, self.heard.since = state, datetime.now(UTC).isoformat(timespec="seconds")
            self.say(f"The broker is {state}.")

    def _client(self, mqtt: Any) -> Any:
        one = self.broker
        client = mqtt.Client(
            mqtt.CallbackAPIVersion.VERSION2, client_id=one.client, clean_session=False, manual_ack=True
        )
        client.reconnect_delay_set(1, SLOWEST)
        if one.user:
            client.username_pw_set(one.user, one.password())
        if one.is_tls:
            client.tls_set_context(_encrypted(one))
        client.on_connect, client.on_disconnect = self._on_connect, self._on_disconnect
        client.on_connect_fail = lambda *_: self._say_state("not reached; it is tried again")
        client.on_subscribe, client.on_message = self._on_subscribe, self._on_message
        return client

    def _on_connect(self, client: Any, _: Any, flags: Any, why: Any, __: Any) -> None:
        if why.is_failure:
            self._say_state(f"not willing: {why}")
            return
        self._connection += 1
        self._break = time.time() - self._contact if flags.session_present else 0.0
        self._begun = self._last = time.monotonic()
        self._is_connected = True
        client.subscribe([(one.filter, 1) for one in self.broker.topics])

    def _on_subscribe(self, _: Any, __: Any, ___: Any, told: Any, ____: Any) -> None:
        for topic, why in zip(self.broker.topics, told, strict=False):
            if why.is_failure:
                self.say(f"The broker does not let {topic.filter} be heard: {why}.")
        self._say_state("connected")  # not before: what is sent until now, the broker keeps for nobody

    def _on_disconnect(self, _: Any, __: Any, ___: Any, why: Any, ____: Any) -> None:
        if self._is_connected:
            silent = 2 * KEEP_ALIVE if "alive" in str(why).casefold() else 0
            self._contact = time.time() - silent
            if why.is_failure:
                self._say_state("lost; it is tried again")
        self._is_connected = False

    def _on_message(self, _: Any, __: Any, message: Any) -> None:
        now = time.monotonic()
        if self._begun is not None:
            waited = now - self._begun
            if (now - self._last > SILENCE and waited > SHORTEST) or waited > LONGEST:
                self._begun = None
        self._last = now
        at = datetime.now(UTC)
        came = Came(
            at.replace(microsecond=at.microsecond // 1000 * 1000), _name(message), bytes(message.payload),
            int(message.mid), bool(message.dup), bool(message.retain),
        )  # fmt: skip
        is_late = self._begun is not None and self._break > LATE
        self._arrived.put(_Arrived(came, self._connection, int(message.qos), is_late))


def _name(message: Any) -> str:
    try:
        return str(message.topic)
    except UnicodeDecodeError:
        return ""


def _encrypted(one: Broker) -> ssl.SSLContext:
    try:
        context = ssl.create_default_context(cafile=None if one.authority is None else str(one.authority))
        if one.certificate is not None:
            context.load_cert_chain(one.certificate, one.key)
    except OSError as problem:  # that of TLS is one, too
        raise InputError(
            "broker, TLS", f"has a file that cannot be used: {problem}.", "Name files in the form PEM."
        ) from None
    return context


def taken_in(
    register: Register, broker: Broker, journal: Journal, path: Path, who: str, meets: Any
) -> Outcome:
    """Take a closed journal in as one import; it is gone from its folder then, and kept with the import."""
    work = journal.folder / "work"
    shutil.rmtree(work, ignore_errors=True)
    try:
        files, left = gathered(path, broker.topics, meets, work)
        if not files:
            return Outcome(path.name, None, f"none of its messages is read: {'; '.join(left)}.")
        # Nobody answers here: where a sender's clock was set, times stay as sent, and the report says so.
        given = Given(journal.station, tuple(files), journal.source, {"clock set": "all"}, beside=(path,))
        outcome = Outcome(path.name, push(register, given, who))
    except InputErrors as several:
        why = " ".join(f"{one.field} {one.problem} {one.remedy}" for one in several.errors)
        return Outcome(path.name, None, why)
    except InputError as one:
        return Outcome(path.name, None, f"{one.field} {one.problem} {one.remedy}")
    finally:
        shutil.rmtree(work, ignore_errors=True)
    path.unlink(missing_ok=True)
    if left and outcome.pushed is not None:
        told = tuple(f"{count} messages are kept unread: {why}" for why, count in left.items())
        outcome = replace(
            outcome, pushed=outcome.pushed.model_copy(update={"assumed": (*outcome.pushed.assumed, *told)})
        )
    return outcome


def heard_of(folder: Path) -> Heard:
    """Return how it goes with what is kept in a folder.

    Raises
    ------
    InputError
        Nothing was ever heard there.
    """
    try:
        return Heard(**json.loads((folder / STATUS).read_text("utf-8")))
    except (OSError, ValueError, TypeError):
        raise InputError(
            str(folder), "holds no word of a broker.", "Name the folder of 'steadyhead logs listen'."
        ) from None
