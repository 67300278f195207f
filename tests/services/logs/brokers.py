"""A real broker on this machine, and what publishes to it."""

from __future__ import annotations

import contextlib
import ipaddress
import os
import shutil
import signal
import socket
import subprocess
import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from paho.mqtt import client as mqtt
from paho.mqtt.enums import CallbackAPIVersion

from steadyhead.services.logs.broker_file import read_broker
from steadyhead.services.logs.listening import Listener

KEY, WHO = "DMB-01", "Ilse Marrow"
STAMPED = """
[[topic]]
filter = "dmb/01/all"
station = "DMB-01"
source = "radio"
payload = "json"
time = "t"
  [[topic.channel]]
  at = "p.in"
  quantity = "inlet pressure"
  unit = "bar"
  [[topic.channel]]
  at = "p.out"
  quantity = "outlet pressure"
  unit = "bar"
"""
BARE = """
[[topic]]
filter = "+/bare"
station_at = 1
source = "bare"
payload = "number"
  [[topic.channel]]
  quantity = "flow"
  unit = "L/s"
"""


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


class Broker:
    """Debian's broker with a memory of its own; may be ended, killed and begun again."""

    def __init__(self, folder: Path, *lines: str):
        self.folder, self.port = folder, free_port()
        folder.mkdir()
        told = [
            f"listener {self.port} 127.0.0.1", "persistence true", f"persistence_location {folder}/",
            "autosave_interval 1", "autosave_on_changes true", "max_queued_messages 0", "log_type none",
            *(lines or ("allow_anonymous true",)), *(["user root"] if os.geteuid() == 0 else []),
        ]  # fmt: skip
        (folder / "broker.conf").write_text("\n".join(told) + "\n", "utf-8")
        self.process = self.begun()

    def begin(self):
        """Begin again."""
        self.process = self.begun()

    def begun(self):
        program = shutil.which("mosquitto") or "/usr/sbin/mosquitto"
        process = subprocess.Popen(
            [program, "-c", str(self.folder / "broker.conf")], stderr=subprocess.DEVNULL
        )
        for _ in range(200):
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 1.0):
                return process
            time.sleep(0.02)
        raise AssertionError("the broker does not answer")

    def end(self, how=signal.SIGTERM):
        self.process.send_signal(how)
        self.process.wait(30.0)

    def file(self, path: Path, topics=STAMPED, more="", minutes=60.0):
        told = f'[broker]\nhost = "127.0.0.1"\nport = {self.port}\nclient = "steadyhead-test"\n'
        path.write_text(f"{told}every_minutes = {minutes}\n{more}{topics}", "utf-8")
        return path

    def publisher(self):
        one = mqtt.Client(CallbackAPIVersion.VERSION2, client_id="logger", clean_session=False)
        one.reconnect_delay_set(1, 1)
        one.connect("127.0.0.1", self.port, 5)
        one.loop_start()
        return one


@contextlib.contextmanager
def listening(file: Path, folder: Path, register, kind=Listener):
    """Listen meanwhile, in a thread; gives the listener. What stopped it stands in its `problem`."""
    said: list[str] = []
    one = kind(read_broker(file), folder, register, WHO, said.append)
    ended = threading.Event()
    problems: list[Exception] = []

    def run():
        try:
            one.run(ended)
        except Exception as problem:
            problems.append(problem)

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield one, said, problems
    finally:
        ended.set()
        thread.join(30.0)
        assert not thread.is_alive()


def until(true, within=20.0):
    """Wait until something is true."""
    end = time.monotonic() + within
    while not true():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.02)


def message(at):
    """Return a stamped message: one each 15 s, no two alike."""
    minute, second = divmod(at * 15, 60)
    hour, minute = divmod(minute, 60)
    stamp = f"2027-03-01T{hour:02d}:{minute:02d}:{second:02d}Z"
    return f'{{"t": "{stamp}", "p": {{"in": {8 + at % 9 / 10}, "out": 4.{at:05d}}}}}'


def certificate(folder: Path):
    """Write a key and a certificate of 127.0.0.1 that vouches for itself."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "broker")])
    now = datetime.now(UTC)
    host = x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address("127.0.0.1"))])
    made = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name).public_key(key.public_key())
        .serial_number(1).not_valid_before(now - timedelta(days=1)).not_valid_after(now + timedelta(days=1))
        .add_extension(host, critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )  # fmt: skip
    (folder / "tls.pem").write_bytes(made.public_bytes(Encoding.PEM))
    private = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    (folder / "tls.key").write_bytes(private)
    return folder / "tls.pem", folder / "tls.key"
