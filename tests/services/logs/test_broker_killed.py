"""A broker that is killed amid messages and begun again: what was acknowledged is there exactly once."""

from __future__ import annotations

import re
import signal

import pytest

from steadyhead.services.archive.verifying import verify_connection
from tests.services.logs.brokers import Broker, listening, message, until
from tests.services.logs.test_listening import kept, values

pytestmark = pytest.mark.system("mosquitto")
COUNT = 240


def on_the_disk(folder, register, logs) -> set[int]:
    """Return which messages lie in the journals or in the archive: only these were acknowledged."""
    lines = "".join(path.read_text("utf-8") for path in folder.rglob("messages-*.jsonl"))
    lines += "".join(path.read_text("utf-8") for path in folder.rglob("open.jsonl"))
    return {int(found) for found in re.findall(r"out\W+4\.(\d{5})", lines)} | archived(register, logs)


def archived(register, logs) -> set[int]:
    try:
        return set(values(register, logs))
    except KeyError:  # nothing is taken in yet
        return set()


def test_a_killed_broker_costs_nothing_that_was_acknowledged_and_doubles_nothing(register, logs, tmp_path):
    broker = Broker(tmp_path / "broker")
    folder, file = tmp_path / "heard", broker.file(tmp_path / "b.toml", minutes=0.02)
    sender = broker.publisher()
    try:
        with listening(file, folder, register) as (one, _, problems):
            until(lambda: one.heard.state == "connected", 40.0)
            told = [sender.publish("dmb/01/all", message(at), 1) for at in range(COUNT)]
            until(lambda: told[COUNT // 4].is_published(), 40.0)
            broker.end(signal.SIGKILL)
            until(lambda: one.heard.state != "connected", 40.0)
            unsure = {at for at, each in enumerate(told) if not each.is_published()}
            until(lambda: len(on_the_disk(folder, register, logs)) == one.heard.messages, 40.0)
            acknowledged = on_the_disk(folder, register, logs)
            assert 0 < len(acknowledged) == one.heard.messages < COUNT  # it was amid them
            broker.begin()
            for each in told:
                each.wait_for_publish(40.0)
            # What the sender was not told of it sends again. The broker may lose only what it took from the
            # sender and had neither written down nor handed on.
            wanted = acknowledged | unsure
            until(lambda: wanted <= archived(register, logs) and not kept(folder), 40.0)
        assert not problems
    finally:
        sender.disconnect()
        sender.loop_stop()
        broker.end()
    found = values(register, logs)
    assert found == sorted(set(found))  # each once, in order of time
    with register.reading() as connection:
        assert not verify_connection(connection).findings
