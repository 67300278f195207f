"""A form sent after the sign-in had ended comes back with all that was typed, and can be sent again."""

from __future__ import annotations

import pytest
from starlette.datastructures import UploadFile

from steadyhead.register import Register
from steadyhead.web.app import make_app
from steadyhead.web.reader import Reader
from steadyhead.web.sessions import Sessions
from tests.web.filled import OWN, Client
from tests.web.step_forms import forms


@pytest.fixture
def stranger(register: Register, monkeypatch: pytest.MonkeyPatch) -> Client:
    """A client whose sign-in has ended, of a register of a team."""
    monkeypatch.setattr(Sessions, "find", lambda *_: Reader(is_known=False))
    return Client(make_app(register))


AT, TYPED = "/stations/PNY-1/runs/one", {"act": "enter", "words": 'note "10 < 12" & dry', "at": "12:55"}


def test_what_was_typed_stands_in_a_form_that_goes_to_the_same_place(stranger: Client):
    page = stranger.post(AT, data=TYPED)
    assert page.status_code == 401
    assert "Nothing was entered yet" in page.text
    (again,) = forms(page.text, act="enter")
    assert (again.action, again.texts) == (AT, TYPED)


def test_a_photo_is_asked_for_anew(stranger: Client):
    page = stranger.post(AT, data=TYPED, files={"a.photo": ("plate.png", b"\x89PNG\r\n\x1a\n")})
    (again,) = forms(page.text, act="enter")
    assert (again.texts, again.files) == (TYPED, {"a.photo"})


def test_a_photo_as_a_telephone_makes_it_loses_nothing_that_was_typed(
    stranger: Client, monkeypatch: pytest.MonkeyPatch
):
    def write(*_: object) -> None:
        raise AssertionError("a stranger's file is written")

    monkeypatch.setattr(UploadFile, "write", write)
    page = stranger.post(AT, data=TYPED, files={"a.photo": ("plate.jpg", bytes(6_000_000))})
    (again,) = forms(page.text, act="enter")
    assert (again.texts, again.files) == (TYPED, {"a.photo"})


@pytest.mark.parametrize(
    "sent",
    [
        {"data": {"words": "x" * 300_000}, "files": {"a.photo": ("a.png", b"")}},
        {"data": {"name": "X", "password": "kept to itself"}},
        {"data": TYPED, "headers": {"accept": "application/json"}},
        {"data": {"words": "x" * 300_000}},
        {"json": TYPED},
    ],
)
def test_no_password_is_given_back_nor_a_large_form_nor_to_a_program(
    stranger: Client, sent: dict[str, object]
):
    page = stranger.post(AT, **sent)
    assert page.status_code == 401
    assert "Send it again" not in page.text
    assert "kept to itself" not in page.text


def test_nothing_is_given_back_to_another_place(stranger: Client):
    page = stranger.post(AT, data=TYPED, headers={**OWN, "origin": "http://elsewhere.example"})
    assert page.status_code == 403
    assert "12:55" not in page.text
