"""Messages of a real broker: on the disk before it hears so, none lost and none twice, taken in, undone."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from datetime import UTC, datetime

import pytest

from steadyhead.cli.app import run
from steadyhead.errors import InputError
from steadyhead.register.logs import find, manifests
from steadyhead.services.archive.verifying import verify_connection
from steadyhead.services.logs import journal as journals
from steadyhead.services.logs.importing import list_imports, period, undo_import
from steadyhead.services.logs.journal import came_in
from steadyhead.services.logs.listening import Listener, heard_of
from tests.services.logs.brokers import (
    BARE,
    KEY,
    STAMPED,
    WHO,
    Broker,
    certificate,
    listening,
    message,
    until,
)

pytestmark = pytest.mark.system("mosquitto")


@pytest.fixture
def broker(tmp_path):
    one = Broker(tmp_path / "broker")
    yield one
    if one.process.poll() is None:
        one.end()


def kept(folder):
    """Return the messages on the disk."""
    return [one for path in sorted(folder.rglob("open.jsonl")) for one in came_in(path)]


def values(register, logs):
    """Return the outlet pressures that the archive shows, in 1e-5 bar above 4 bar."""
    found = {channel.quantity: frame.collect() for channel, frame in period(register, logs, KEY)}
    return [round((one / 1e5 - 4) * 1e5) for one in found["outlet pressure"]["v"]]


def test_messages_become_an_import_with_what_came_as_it_came(broker, register, logs, tmp_path):
    folder, file = tmp_path / "heard", broker.file(tmp_path / "b.toml", STAMPED + BARE, minutes=0.02)
    sender = broker.publisher()
    with listening(file, folder, register) as (one, said, problems):
        until(lambda: one.heard.state == "connected")
        for at in range(40):
            sender.publish("dmb/01/all", message(at), 1)
        for words in ("{", '{"t": "yesterday", "p": {"out": 4}}', '{"t": "2027-03-01T09:00:00"}'):
            sender.publish("dmb/01/all", words, 1)
        sender.publish("dmb/01/all", message(7), 1)  # the logger was not sure and sends it again
        sender.publish("DMB-01/bare", "12.5", 1)
        sender.publish("NO-SUCH/bare", "12.5", 1)
        until(lambda: one.heard.twice == 1 and one.heard.aside == 3)
        until(lambda: len(list_imports(register, KEY).imports) == 2 and one.heard.waiting == 1)
    sender.disconnect()
    sender.loop_stop()
    assert not problems
    assert values(register, logs) == list(range(40))
    assert "NO-SUCH" in heard_of(folder).refused
    assert len(list(folder.glob("NO-SUCH*/closed/messages-*"))) == 1  # it waits, and is not lost
    aside = (folder / "aside.jsonl").read_text().splitlines()
    assert ["is no JSON" in aside[0], "is no time" in aside[1], "holds none of" in aside[2]] == [True] * 3
    lines = {one.source: one for one in list_imports(register, KEY).imports}
    raw = lines["radio"].files[-1]
    assert raw.name.endswith(".jsonl")
    assert len(logs.raw_file(raw.sha256).read_text().splitlines()) == 40
    with register.reading() as connection:
        assert not verify_connection(connection).findings
        told = {each.channel.quantity: each for _, m in manifests(connection, KEY) for each in m.channels}
        assert told["flow"].count == 1
    assert run(["logs", "listen", str(file), str(folder), "--status"]) == 0
    undo_import(register, logs, lines["radio"].number, WHO)
    with register.reading() as connection:
        assert find(connection, lines["radio"].number).is_undone
    assert any("put aside" not in words and "import" in words for words in said)


class DiskFull(Listener):
    """Cannot write."""

    def _keep(self, group, aside):
        raise OSError(28, "No space left on device")


class KilledBeforeWord(Listener):
    """Ends between the disk and the word to the broker."""

    def _keep(self, group, aside):
        Listener._keep(self, group, aside)
        raise OSError(5, "Input/output error")


def test_nothing_is_acknowledged_before_it_is_on_the_disk_and_nothing_is_kept_twice(
    broker, register, logs, tmp_path
):
    folder, file = tmp_path / "heard", broker.file(tmp_path / "b.toml", STAMPED + BARE)
    sender = broker.publisher()
    for kind, there in ((DiskFull, 0), (KilledBeforeWord, 2)):
        with listening(file, folder, register, kind) as (one, _, problems):
            until(lambda one=one, problems=problems: problems or one.heard.state == "connected")
            if kind is DiskFull:
                sender.publish("dmb/01/all", message(1), 1).wait_for_publish(10.0)
                sender.publish("DMB-01/bare", "3,5".replace(",", "."), 1).wait_for_publish(10.0)
            until(lambda problems=problems: problems)
            assert isinstance(problems[0], InputError)
        assert len(kept(folder)) <= there
    with listening(file, folder, register) as (one, _, problems):
        until(lambda: len(kept(folder)) == 2 and one.heard.twice >= 1)
        sender.publish("DMB-01/bare", "3.5", 1)  # the same number once more is another sample
        until(lambda: len(kept(folder)) == 3)
    sender.disconnect()
    sender.loop_stop()
    assert not problems
    with listening(file, folder, register) as (one, _, problems):
        until(lambda: one.heard.state == "connected")
    assert len(kept(folder)) == 3


def test_neither_a_killed_broker_nor_a_killed_listener_loses_or_doubles_a_message(
    broker, register, logs, tmp_path
):
    folder, file = tmp_path / "heard", broker.file(tmp_path / "b.toml", minutes=0.01)
    words = [sys.executable, "-m", "steadyhead", "logs", "listen", str(file), str(folder), "--by", WHO]
    where = register.folder if not str(register.folder).startswith("postgres") else ""
    words += ["--register", str(where)]
    sender = broker.publisher()
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert "connected" in process.stdout.readline()
    sent = 0

    def send(count):
        nonlocal sent
        told = [sender.publish("dmb/01/all", message(at), 1) for at in range(sent, sent + count)]
        sent += count
        return told

    for one in send(150):
        one.wait_for_publish(20.0)
    process.send_signal(signal.SIGKILL)  # in the middle of it
    process.wait(20.0)
    process.stdout.close()
    for one in send(100):
        one.wait_for_publish(20.0)  # the broker keeps them for us
    with listening(file, folder, register) as (heard, said, problems):
        until(lambda: heard.heard.state == "connected")
        send(50)
        broker.end(signal.SIGTERM)
        send(50)
        broker.begin()
        until(lambda: problems or said.count("The broker is connected.") >= 2, 40.0)
        assert not problems, said
        until(sender.is_connected, 40.0)
        for one in send(50):
            one.wait_for_publish(20.0)
        until(lambda: len(values(register, logs)) == sent, 40.0)
        assert not problems
    sender.disconnect()
    sender.loop_stop()
    assert values(register, logs) == list(range(sent))
    assert not kept(folder)


def test_who_listens_signs_in_with_a_password_that_lies_in_a_file(register, logs, tmp_path):
    password = tmp_path / "users"
    subprocess.run(["mosquitto_passwd", "-b", "-c", str(password), "logger", "of the kiosk"], check=True)
    password.chmod(0o644)
    one = Broker(tmp_path / "broker", "allow_anonymous false", f"password_file {password}")
    (tmp_path / "word").write_text("of the kiosk\n", "utf-8")
    try:
        for name, state in (("word", "connected"), ("none", "")):
            more = f'user = "logger"\npassword_file = "{name}"\n'
            file = one.file(tmp_path / "b.toml", more=more)
            with listening(file, tmp_path / "heard", register) as (heard, _, problems):
                until(lambda heard=heard, problems=problems: problems or heard.heard.state == "connected")
                assert heard.heard.state.startswith(state)
                assert bool(problems) == (not state)
        file = one.file(tmp_path / "b.toml")
        with listening(file, tmp_path / "heard", register) as (heard, *_):
            until(lambda: heard.heard.state.startswith("not willing"))
    finally:
        one.end()


def test_a_number_that_waited_at_the_broker_is_no_sample_of_now(broker, register, logs, tmp_path):
    folder, file = tmp_path / "heard", broker.file(tmp_path / "b.toml", BARE)
    with listening(file, folder, register) as (one, _, _p):
        until(lambda: one.heard.state == "connected")
    sender = broker.publisher()
    sender.publish("DMB-01/bare", "2.5", 1).wait_for_publish(10.0)
    past = (folder / "status.json").stat().st_mtime - 3600.0
    os.utime(folder / "status.json", (past, past))
    with listening(file, folder, register) as (one, _, _p):
        until(lambda: one.heard.aside == 1)
        assert "waited at the broker" in (folder / "aside.jsonl").read_text()
    sender.disconnect()
    sender.loop_stop()
    assert not kept(folder)


def test_a_line_that_a_kill_cut_is_taken_off(tmp_path):
    one = journals.Journal(tmp_path / "a", KEY, "radio")
    for at in range(3):
        one.add(journals.Came(datetime(2027, 3, 1, tzinfo=UTC), "t", b"%d" % at, at + 1))
    one.settle()
    one.close()
    path = tmp_path / "a" / journals.OPEN
    path.write_bytes(path.read_bytes()[:-9])
    again = journals.Journal(tmp_path / "a", KEY, "radio")
    assert [each.payload for each in came_in(path)] == [b"0", b"1"]
    assert path.read_bytes().endswith(b"\n")
    third = journals.Came(datetime.now(UTC), "t", b"2", 3, True)
    assert not again.has(third, is_stamped=True)


# The client leaves the socket of a handshake that failed to the collector.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_the_way_to_a_broker_is_encrypted_and_a_stranger_is_not_believed(register, logs, tmp_path):
    vouched, key = certificate(tmp_path)
    lines = ("allow_anonymous true", f"certfile {vouched}", f"keyfile {key}")
    one = Broker(tmp_path / "broker", *lines)
    try:
        for more, state in (
            ('tls = true\nauthority = "tls.pem"\n', "connected"),
            ("tls = true\n", "not reached; it is tried again"),
        ):
            file = one.file(tmp_path / "b.toml", more=more)
            with listening(file, tmp_path / "heard", register) as (heard, _, problems):
                until(lambda heard=heard, state=state: heard.heard.state == state)
                assert not problems
    finally:
        one.end()
