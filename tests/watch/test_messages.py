"""What messages of loggers say, and what is put aside."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from steadyhead.errors import InputError
from steadyhead.services.logs.broker_file import read_broker
from steadyhead.watch.messages import Sensor, Topic, Unreadable, as_file, decoded

OUT, FLOW = Sensor("p.out", "outlet pressure", "bar"), Sensor("q", "flow", "L/s", "mean")
JSON = Topic("a", "DMB-01", "radio", "json", (OUT, FLOW), time="t")
ROW = Topic(
    "a", "DMB-01", "radio", "row", (Sensor("2", "outlet pressure", "bar"),), time="1", time_kind="epoch s",
    separator=";", decimal=",",
)  # fmt: skip
BARE = Topic("a", "DMB-01", "radio", "number", (Sensor("", "flow", "L/s"),), decimal=",")
AT = datetime(2027, 3, 1, 8, tzinfo=UTC)


def test_a_message_says_what_its_topic_means():
    told = decoded(JSON, b'{"t": "2027-03-01T09:00:00+01:00", "p": {"out": 4.10}, "q": null}')
    assert [(one.at, one.values) for one in told] == [(AT, ("4.10", ""))]
    many = decoded(
        JSON, b'[{"t": "2027-03-01T08:00:00Z", "q": 3}, {"t": "2027-03-01T08:01:00Z", "q": "3.5"}]'
    )
    assert [one.values for one in many] == [("", "3"), ("", "3.5")]
    assert decoded(ROW, b"1803888000;4,10\n1803888060.5;4,11")[1].values == ("4.11",)
    assert decoded(BARE, b" 12,5\n")[0].values == ("12.5",)


@pytest.mark.parametrize(
    ("topic", "payload", "why"),
    [
        (JSON, b"", "empty"), (JSON, b"\xff", "UTF-8"), (JSON, b"{", "no JSON"), (JSON, b"[]", "empty list"),
        (JSON, b'{"t": 3}', "none of"), (JSON, b'{"q": 3}', "no time under"), (JSON, b"[" * 5000, "no JSON"),
        (JSON, b'{"t": "2027-03-01T08:00", "q": 3}', "no zone"), (JSON, b'{"t": "then", "q": 3}', "no time"),
        (JSON, b'{"t": "2027-03-01T08:00Z", "q": "x"}', "no number"),
        (JSON, b'{"t": "2027-03-01T08:00Z", "q": NaN}', "no JSON"),
        (JSON, b'{"t": "2027-03-01T08:00Z", "q": [3]}', "no number"), (ROW, b"1", "columns"),
        (ROW, b"1e300;4", "no time"), (BARE, b"1.250,5", "no number"), (BARE, b"inf", "no number"),
    ],
)  # fmt: skip
def test_what_a_message_does_not_say_is_not_made_up(topic, payload, why):
    with pytest.raises(Unreadable, match=why):
        decoded(topic, payload)


def test_samples_become_a_file_in_order_of_time_and_each_once():
    later = AT.replace(minute=5)
    made = as_file(JSON, [(later, ("4.2", "")), (AT, ("4.1", "3")), (later, ("4.2", ""))]).decode()
    assert made.splitlines() == [
        "Time (UTC),outlet pressure (bar),flow mean (L/s)", "2027-03-01T08:00:00.000Z,4.1,3",
        "2027-03-01T08:05:00.000Z,4.2,",
    ]  # fmt: skip


GOOD = """
[broker]
host = "127.0.0.1"
client = "one"
[[topic]]
filter = "a"
station = "DMB-01"
payload = "json"
time = "t"
zone = "UTC+1"
channel = [{at = "p", quantity = "outlet pressure", unit = "bar"}]
"""


def test_a_brokers_file_is_read_and_a_field_that_does_not_fit_is_named(tmp_path):
    path = tmp_path / "b.toml"
    path.write_text(GOOD, "utf-8")
    told = read_broker(path)
    assert (told.port, told.topics[0].offset, told.every) == (1883, 60, 3600.0)
    for old, new, field in (
        ('"UTC+1"', '"Europe/Berlin"', "zone"), ('unit = "bar"', 'unit = "L/s"', "unit"),
        ('at = "p"', "", "at"),
        ('client = "one"', "", "broker.client"), ('station = "DMB-01"', "", "station"),
        ("[broker]", "[", "TOML"),
        ('client = "one"', 'client = "one"\npassword_file = "x"', "broker.user"),
        ('payload = "json"', 'payload = "number"', "topic 1"), ('"json"', '"picture"', "payload"),
        ('client = "one"', 'client = "one"\nauthority = "x"', "broker.tls"),
        ('payload = "json"', 'payload = "row"', "column"),
    ):  # fmt: skip
        path.write_text(GOOD.replace(old, new), "utf-8")
        with pytest.raises(InputError, match=field):
            read_broker(path)
