"""Photos of a visit, its job file, and what a device saved as a file: sent, kept, given out, taken in."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from argon2 import PasswordHasher

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import dump, read
from steadyhead.register import Register, open_register
from steadyhead.services import accounts as team
from steadyhead.services.archive.taking_in import import_into
from steadyhead.services.archive.writing import export
from steadyhead.services.example_year.teller import picture
from steadyhead.services.field import preparing
from steadyhead.services.field.pack import is_ready
from steadyhead.services.jobs.working import Queue
from steadyhead.services.visits_kept import photos, runs
from steadyhead.services.visits_kept.filing import filed
from steadyhead.services.visits_kept.photos import MOST_PHOTO, photo_line, photo_media
from steadyhead.services.visits_kept.showing import run_view
from steadyhead.services.visits_kept.views import PhotoView
from steadyhead.station.canonical import sha256
from steadyhead.web.app import make_app
from tests.services.field.conftest import _begun, visit  # noqa: F401
from tests.services.field.light import KEY, RUN, WHO, Visit
from tests.web.filled import Client

HERE = f"/stations/{KEY}/runs/{RUN}"
ROOMS = ("account", "field", "runs")
PNG = picture("lid", 40, 30)
WORDS = "wet spanner quiet lane"
JSON = {"accept": "application/json"}


@pytest.fixture
def client(visit: Visit) -> Client:  # noqa: F811
    """Somebody alone on this machine."""
    return Client(make_app(visit.register, rooms=ROOMS))


def put(client: Client, content: bytes, digest: str = "", media: str = "image/png"):
    address = f"{HERE}/photos/{digest or sha256(content)}"
    return client.ask("PUT", address, content=content, headers=JSON | {"content-type": media})


def rows_of(visit: Visit) -> int:  # noqa: F811
    with visit.register.reading() as connection:
        return len(filed(connection, KEY, ("photo",), RUN))


def told_of(register: Register) -> PhotoView:
    """Return what the page of the visit says of our photo."""
    return next(one for one in run_view(register, KEY, RUN).photos if one.sha256 == sha256(PNG))


def test_a_photo_is_kept_once_under_its_digest_and_given_out_as_it_came(client: Client, visit: Visit):  # noqa: F811
    first, again = put(client, PNG), put(client, PNG, media="application/octet-stream")
    assert (first.status_code, first.json()["is_new"], first.json()["sha256"]) == (200, True, sha256(PNG))
    assert (again.status_code, again.json()["is_new"], again.json()["id"]) == (200, False, first.json()["id"])
    assert rows_of(visit) == 1
    found = client.get(f"{HERE}/photos/{sha256(PNG)}")
    assert (found.content, found.headers["content-type"]) == (PNG, "image/png")
    assert "sandbox" in found.headers["content-security-policy"] or "default-src 'none'" in str(found.headers)
    assert found.headers["x-content-type-options"] == "nosniff"
    assert client.get(f"{HERE}/photos/{'0' * 64}", headers=JSON).status_code == 404


@pytest.mark.parametrize(
    ("content", "digest", "words"),
    [
        (b"", "", "is empty"),
        (PNG, "0" * 64, "has the digest"),
        (b"<svg onload='x()'></svg>", "", "is no JPEG, PNG"),
        (b"\xff\xd8\xff" + bytes(MOST_PHOTO), "", "at most 20 MB are kept"),
    ],
)
def test_what_is_no_such_photo_is_refused_in_words(client: Client, visit: Visit, content, digest, words):  # noqa: F811
    found = put(client, content, digest)
    assert found.status_code == 422
    assert words in found.json()["problems"][0]["problem"] + found.json()["problems"][0]["remedy"]
    assert rows_of(visit) == 0


def test_pictures_are_known_by_their_bytes_whatever_they_are_called():
    told = {
        b"\xff\xd8\xff\xe1": "image/jpeg", b"RIFF\0\0\0\0WEBPVP8 ": "image/webp",
        b"\0\0\0\x18ftypheic": "image/heic", b"\0\0\0\x1cftypavif": "image/avif",
        b"GIF89a": "", b"\0\0\0\x18ftypisom": "",
    }  # fmt: skip
    assert {content: photo_media(content) for content in told} == told


def test_whoever_only_looks_sends_no_photo_and_takes_no_job_file(
    visit: Visit,  # noqa: F811
    monkeypatch: pytest.MonkeyPatch,
):
    monkeypatch.setattr(team, "_hasher", lambda: PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    team._nobodys.cache_clear()
    team.set_password(visit.register, team.add(visit.register, "Ada Fen", "look", "this machine"), WORDS)
    app = make_app(visit.register, rooms=ROOMS)
    stranger, looks = Client(app), Client(app)
    looks.post("/sign-in", data={"name": "Ada Fen", "password": WORDS})
    assert (put(stranger, PNG).status_code, put(looks, PNG).status_code) == (401, 403)
    assert looks.get(f"{HERE}/job-file", headers=JSON).status_code == 403
    assert stranger.get(f"{HERE}/photos/{sha256(PNG)}", headers=JSON).status_code == 401
    page = looks.get(HERE, headers={"accept": "text/html"}).text
    assert "Take along" not in page
    assert stranger.get("/field").status_code == 200


def named(visit: Visit):  # noqa: F811
    return visit.made("photo", {"of": "cocks", "name": "cocks.png", "sha256": sha256(PNG)}, node="A2")


def test_a_large_photo_without_a_session_is_told_to_sign_in_and_is_whole_after_it(
    visit: Visit,  # noqa: F811
    monkeypatch: pytest.MonkeyPatch,
):
    large = PNG + bytes(range(256)) * 30_000
    monkeypatch.setattr(team, "_hasher", lambda: PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    team._nobodys.cache_clear()
    team.set_password(visit.register, team.add(visit.register, "Ada Fen", "record", "this machine"), WORDS)
    client = Client(make_app(visit.register, rooms=ROOMS))
    refused = put(client, large)
    assert refused.status_code == 401, refused.text
    assert refused.headers["content-type"].startswith("application/json")
    assert rows_of(visit) == 0
    client.post("/sign-in", data={"name": "Ada Fen", "password": WORDS})
    assert put(client, large).json()["sha256"] == sha256(large)
    assert rows_of(visit) == 1


def test_a_file_of_entries_brings_its_photos_along_and_a_broken_one_is_named(client: Client, visit: Visit):  # noqa: F811
    mine = named(visit)
    cut = photo_line("0" * 64, PNG)
    content = dump([mine]) + photo_line(sha256(PNG), PNG) + b"\n" + cut + b"\n"
    assert [one.id for one in read(content).entries] == [mine.id], "photos are passed over by other readers"
    found = client.post(
        HERE, data={"act": "take"}, files={"entries": ("visit.jsonl", content)}, headers=JSON
    ).json()
    assert (found["new"], found["photos"], len(found["refused"])) == (1, 1, 1)
    assert "has the digest" in found["refused"][0]
    again = client.post(HERE, data={"act": "take"}, files={"entries": ("a", content)}, headers=JSON).json()
    assert (again["new"], again["known"], again["photos"]) == (0, 1, 0)
    told = told_of(visit.register)
    assert (told.of, told.step, told.name, told.is_here) == ("cocks", "A2", "cocks.png", True)
    page = client.get(HERE, headers={"accept": "text/html"}).text
    assert f"{HERE}/photos/{sha256(PNG)}" in page


def test_a_photo_an_entry_names_is_told_missing_until_its_bytes_come(client: Client, visit: Visit):  # noqa: F811
    runs.take_in(visit.register, KEY, RUN, dump([named(visit)]), WHO)
    assert not told_of(visit.register).is_here
    page = client.get(HERE, headers={"accept": "text/html"}).text
    assert re.search(r"A2 cocks <span class=.note.>not here yet", page)
    put(client, PNG)
    with visit.register.reading() as connection:
        (kept,) = filed(connection, KEY, ("photo",), RUN)
    assert (kept.name, kept.title) == ("cocks.png", "cocks, A2")
    assert told_of(visit.register).is_here


def test_the_job_file_is_one_page_that_is_kept_and_never_shown(client: Client):
    found = client.get(f"{HERE}/job-file")
    how = found.headers["content-disposition"]
    assert how.startswith("attachment; ")
    assert "Quillenby%20Row%2C%20first%20visit" in how
    assert found.headers["x-content-type-options"] == "nosniff"
    text = found.text
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', text)
    assert policy is not None
    assert policy[1].startswith("default-src 'none'; script-src 'sha256-")
    assert "isFile: true" in text


def test_a_pack_is_made_ready_by_the_worker_and_its_progress_is_told_until_then(client: Client, visit: Visit):  # noqa: F811
    address = f"{HERE}/field-pack?wait=no"
    first = client.get(address)
    told = first.json()
    assert (first.status_code, told["is_at_work"], told["words"]) == (202, False, preparing.WAITS)
    assert not is_ready(visit.register, KEY, RUN)
    assert Queue(visit.register, "one", "pictures").once()
    assert is_ready(visit.register, KEY, RUN)
    assert client.get(address).json() == client.get(f"{HERE}/field-pack").json()
    assert preparing.making(visit.register, KEY, RUN) is None
    with pytest.raises(InputError):
        preparing.making(visit.register, KEY, "visit-9")


def test_an_archive_carries_the_photos_of_a_visit(client: Client, visit: Visit, tmp_path: Path):  # noqa: F811
    runs.take_in(visit.register, KEY, RUN, dump([named(visit)]), WHO)
    put(client, PNG)
    (tmp_path / "all.zip").write_bytes(b"".join(export(visit.register)))
    import_into(tmp_path / "all.zip", tmp_path / "there")
    there = open_register(tmp_path / "there")
    told = told_of(there)
    content = photos.photo_at(there, KEY, RUN, told.sha256)[1]
    there.close()
    assert (told.is_here, content) == (True, PNG)
