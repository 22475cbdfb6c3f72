"""The server: a real start in a process of its own, and what it says when it cannot."""

import json
import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.core.management import CommandError

from shop.jobs import server
from shop.people.secrets import digest_of

ROOT = Path(__file__).resolve().parent.parent.parent


def start(command, data, **variables):
    """`manage.py <command>` as a person would start it, on data of its own."""
    environment = {
        name: value
        for name, value in os.environ.items()
        if name not in ("DJANGO_SETTINGS_MODULE", "DATABASE_URL", "REDIS_URL", "LATHESIDE_HTTPS")
    }
    environment |= {"LATHESIDE_DATA": str(data), "PYTHONWARNINGS": "error", **variables}
    return subprocess.Popen(
        [sys.executable, "manage.py", *command],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        stdin=subprocess.DEVNULL,
        text=True,
    )


def address_of(process):
    """Read on until it says where it answers."""
    heard = []
    for line in process.stdout:
        heard.append(line)
        if found := re.search(r"answers at (http://\S+/)", line):
            return found[1]
    pytest.fail("it did not start: " + "".join(heard))


def end(process):
    process.send_signal(signal.SIGTERM)
    said, _ = process.communicate(timeout=30)
    return process.returncode, said


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    """A data folder with a room in it, opened with the command."""
    folder = tmp_path_factory.mktemp("data")
    password = folder / "password"
    password.write_text("the lathe hums at four")
    opened = start(
        [
            *("open", "--no-serve", "--name", "Brindle Lane", "--zone", "Europe/Lisbon", "--units", "metric"),
            *("--owner-name", "Orla Tindrum", "--sign-in", "orla", "--password-file", str(password)),
        ],
        folder,
    )
    said, _ = opened.communicate(timeout=120)
    assert opened.returncode == 0, said
    return folder


@pytest.fixture(scope="module")
def running(data):
    process = start(["serve", "--listen", "127.0.0.1:0"], data)
    address = address_of(process)
    yield address
    code, said = end(process)
    assert code == 0, said
    assert "Stopped. What was saved is kept." in said


def get(address, **headers):
    try:
        return urllib.request.urlopen(urllib.request.Request(address, headers=headers), timeout=30)
    except urllib.error.HTTPError as page:
        return page


def test_the_sign_in_page_comes_with_its_headers(running):
    with get(running + "people/sign-in/") as page:
        body = page.read().decode()
        assert page.status == 200
        policy = page.headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "no-store" in page.headers["Cache-Control"]
        assert page.headers["X-Content-Type-Options"] == "nosniff"
        assert page.headers["X-Frame-Options"] == "DENY"
        assert page.headers["Referrer-Policy"] == "same-origin"
        assert "Server" not in page.headers
    assert "Sign in" in body


def test_what_is_far_too_large_is_refused_unread_with_a_sentence(running):
    host, _, port = running.removeprefix("http://").rstrip("/").partition(":")
    with socket.create_connection((host, int(port)), timeout=20) as line:
        line.sendall(
            b"POST /stock/in-and-out/send/lots/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 104857600\r\n\r\n"
        )
        said = b""
        while chunk := line.recv(4096):  # it answers and ends, though no byte of the file was sent
            said += chunk
    assert said.startswith(b"HTTP/1.1 413")
    assert b"larger than 20 MB, so it was not read, and nothing was saved" in said


@pytest.fixture(scope="module")
def token(data):
    """Of an instrument in that room."""
    secret = "an-instrument-token-of-forty-three-letters-x"
    with sqlite3.connect(data / "latheside.sqlite3", timeout=20) as database:
        database.execute(
            "INSERT INTO room_instrument (name, digest, kinds, note, added_by_id, added_at, kept, version) "
            "SELECT 'Thermometer', ?, '[\"room_c\"]', '', id, '2026-01-31 08:00:00', 0, 1 FROM people_person LIMIT 1",
            [digest_of(secret)],
        )
    database.close()
    return secret


@pytest.mark.parametrize("megabytes", [2.5, 10])
@pytest.mark.parametrize("in_chunks", [False, True])
def test_a_batch_that_is_too_large_is_refused_as_the_interface_says(running, token, megabytes, in_chunks):
    size = int(megabytes * 1024 * 1024)
    body = (b"[" * 65536 for _ in range(size // 65536)) if in_chunks else b"[" * size
    asked = urllib.request.Request(
        running + "api/readings/",
        data=body,
        headers={"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
        | ({"Transfer-Encoding": "chunked"} if in_chunks else {}),
    )
    with pytest.raises(urllib.error.HTTPError) as no:
        urllib.request.urlopen(asked, timeout=60)
    with no.value as page:
        assert page.status == 413
        assert page.headers["Content-Type"] == "application/problem+json"
        told = json.loads(page.read())
    assert told["status"] == 413
    assert "2048 KiB at most" in told["detail"]


def test_static_files_are_named_by_content_and_kept_for_long(running):
    with get(running + "people/sign-in/") as page:
        names = re.findall(r'(?:href|src)="(/static/[^"]+)"', page.read().decode())
    assert len(names) >= 3
    for name in names:
        assert re.search(r"\.[0-9a-f]{12}\.\w+$", name)
        with get(running.rstrip("/") + name) as file:
            assert file.status == 200
            assert "immutable" in file.headers["Cache-Control"]


def test_every_page_needs_a_signed_in_person(running):
    with get(running) as page:
        assert page.status == 200
        assert "/people/sign-in/" in page.url


def test_an_unknown_page_and_a_foreign_host_show_no_trace(running):
    with get(running + "no-such-page/") as page:
        assert "Traceback" not in page.read().decode()
    with get(running, Host="elsewhere.example") as page:
        assert page.status == 400
        assert "Traceback" not in page.read().decode()


def test_the_clock_runs_the_jobs(running, data):
    until = time.monotonic() + 90
    outcomes = []
    while time.monotonic() < until and len(outcomes) < 3:
        with sqlite3.connect(data / "latheside.sqlite3", timeout=20) as database:
            outcomes = [row[0] for row in database.execute("SELECT outcome FROM jobs_jobrun WHERE outcome != ''")]
        database.close()
        time.sleep(0.2)
    assert len(outcomes) >= 3
    assert all(outcome.startswith("done") for outcome in outcomes)


def test_the_data_folder_holds_a_key_only_its_owner_reads(running, data):
    assert (data / "secret_key").stat().st_mode & 0o077 == 0


def test_djangos_own_server_serves_the_room_too(data):
    process = start(["runserver", "--noreload", "127.0.0.1:0"], data, PYTHONUNBUFFERED="1")
    try:
        for line in process.stdout:
            if found := re.search(r"(http://127.0.0.1:\d+/)", line):
                break
        else:
            pytest.fail("it did not start")
        with get(found[1] + "people/sign-in/") as page:
            assert page.status == 200
            names = re.findall(r'(?:href|src)="(/static/[^"]+)"', page.read().decode())
        with get(found[1].rstrip("/") + names[0]) as file:
            assert file.status == 200
    finally:
        process.terminate()
        process.communicate(timeout=30)


def test_a_folder_in_which_no_room_is_open_is_not_served(tmp_path):
    process = start(["serve", "--listen", "127.0.0.1:0"], tmp_path)
    said, _ = process.communicate(timeout=180)
    assert process.returncode == 1
    assert "No room is open here yet" in said
    assert "python3 manage.py open" in said
    assert "answers at" not in said
    assert "Traceback" not in said


def test_a_taken_port_is_said_and_another_named(running, data):
    port = running.rstrip("/").rpartition(":")[2]
    second = start(["serve", "--listen", f"127.0.0.1:{port}"], data)
    said, _ = second.communicate(timeout=180)
    assert second.returncode == 1
    assert f"Port {port} of 127.0.0.1 is taken" in said
    assert f"--listen 127.0.0.1:{int(port) + 1}" in said
    assert "Traceback" not in said


@pytest.mark.parametrize(
    ("listen", "host", "port"),
    [
        ("127.0.0.1:8000", "127.0.0.1", 8000),
        (":8080", "127.0.0.1", 8080),
        ("8080", "127.0.0.1", 8080),
        ("[::1]:0", "::1", 0),
        ("shop.example:65535", "shop.example", 65535),
    ],
)
def test_addresses_to_listen_on(listen, host, port):
    assert server.parse_listen(listen) == (host, port)


@pytest.mark.parametrize("listen", ["", "localhost", "localhost:", "localhost:http", "127.0.0.1:65536", "127.0.0.1:-1"])
def test_what_is_no_address_is_refused(listen):
    with pytest.raises(CommandError, match="takes an address and a port"):
        server.parse_listen(listen)


def test_an_address_of_another_machine_is_refused():
    with pytest.raises(CommandError, match="not an address of this machine"):
        server.bind("192.0.2.77:8000")


def test_links_begin_with_where_it_answers_unless_the_room_said_otherwise(settings, monkeypatch):
    monkeypatch.delenv("LATHESIDE_ADDRESS", raising=False)
    settings.LATHESIDE_ADDRESS = "http://127.0.0.1:8000"
    with server.bind("127.0.0.1:0") as door:
        server._link_to(door)
        assert server.address_of(door) == django_settings.LATHESIDE_ADDRESS + "/"
        settings.LATHESIDE_ADDRESS = "https://cutting-room.local"
        monkeypatch.setenv("LATHESIDE_ADDRESS", "https://cutting-room.local")
        server._link_to(door)
        assert django_settings.LATHESIDE_ADDRESS == "https://cutting-room.local"


def test_open_to_all_it_answers_to_this_machines_names(settings):
    with server.bind("0.0.0.0:0") as door:
        server._let_in(door)
        assert socket.gethostname() in django_settings.ALLOWED_HOSTS
        assert "*" not in django_settings.ALLOWED_HOSTS
        assert server.address_of(door).startswith("http://127.0.0.1:")
        first, caution = server._reach(door)
        assert "On a phone" in first
        assert "HTTPS" in caution


def test_behind_a_named_proxy_its_word_is_taken(settings):
    settings.TRUSTED_PROXY = ""
    assert server._behind_a_proxy() == {}
    settings.TRUSTED_PROXY = "127.0.0.1"
    assert server._behind_a_proxy()["trusted_proxy"] == "127.0.0.1"


def test_static_files_are_collected_anew_when_one_changes(settings, tmp_path, monkeypatch):
    source, target = tmp_path / "source", tmp_path / "target"
    source.mkdir()
    (source / "a.css").write_text("p { margin: 0 }")
    settings.DEBUG = False
    settings.STATIC_ROOT = target
    settings.STATICFILES_DIRS = [source]
    settings.STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.FileSystemFinder"]
    from django.contrib.staticfiles import finders, storage

    finders.get_finder.cache_clear()
    monkeypatch.setattr(storage, "staticfiles_storage", storage.ConfiguredStorage())
    first = server._fingerprint_of_static()
    assert server._fingerprint_of_static() == first
    (source / "a.css").write_text("p { margin: 1em }")
    assert server._fingerprint_of_static() != first
    finders.get_finder.cache_clear()


def test_loading_the_heavy_libraries_survives_one_that_is_missing(monkeypatch):
    monkeypatch.setattr(server, "HEAVY", ("no_such_library", "json"))
    server.load_heavy()
