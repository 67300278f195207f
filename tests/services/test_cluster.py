from __future__ import annotations

import socket
import threading
from typing import Any

import distributed
import pytest

from steadyhead.errors import InputError
from steadyhead.services import cluster
from steadyhead.services.cluster import Cluster


@pytest.fixture
def another_service():
    """A service at an address of this machine that speaks another tongue."""
    listening = socket.create_server(("127.0.0.1", 0))
    ends = threading.Event()

    def answer() -> None:
        while not ends.is_set():
            try:
                there, _ = listening.accept()
            except OSError:
                return
            with there:
                there.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n" * 4)

    threading.Thread(target=answer, daemon=True).start()
    yield f"tcp://127.0.0.1:{listening.getsockname()[1]}"
    ends.set()
    listening.close()


def test_another_service_at_the_address_is_refused_in_words(another_service, monkeypatch, capfd):
    monkeypatch.setattr(cluster, "PATIENCE", "1s")
    with pytest.raises(InputError, match="nobody answers at"):
        Cluster(another_service)
    assert capfd.readouterr() == ("", "")


class Lost:
    """A client whose workers are lost so many times."""

    def __init__(self, times: int) -> None:
        self.left, self.given = times, 0

    def scatter(self, held: list[Any], **_: Any) -> list[Any]:
        return held

    def scheduler_info(self) -> dict[str, Any]:
        return {"workers": {"one": {}}}

    def submit(self, call: Any, *given: Any, **_: Any) -> Any:
        self.given += 1
        client = self

        class Future:
            def result(self) -> Any:
                if client.left > 0:
                    client.left -= 1
                    raise distributed.client.FutureCancelledError("key", "worker lost")
                return call(*given)

        return Future()


def lost(times: int) -> Cluster:
    found = Cluster.__new__(Cluster)
    found._client, found._own = Lost(times), None
    found._lost = (distributed.client.FutureCancelledError,)
    return found


def test_what_a_lost_worker_held_is_given_out_again():
    client = lost(2)
    assert list(client.map(lambda item: 2 * item, range(20))) == [2 * item for item in range(20)]
    assert client._client.given == 3 + 2


def test_workers_that_are_lost_again_and_again_are_told():
    with pytest.raises(InputError, match="lost its workers 3 times"):
        list(lost(99).map(lambda item: item, range(4)))
