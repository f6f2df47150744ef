"""The server has room: whatever waits, a ping is answered within a second. And tasks beside it end when they must.

Against the real server, as users start it. The second is the promise itself; the ping alone takes milliseconds.
"""

from __future__ import annotations

import concurrent.futures
import contextlib
import http.client
import json
import re
import signal
import socket
import sqlite3
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from sketcher.importing.floor_import import DrawingError, UnitUnknown, from_bytes
from sketcher.server import connections
from sketcher.server.errors import Refusal
from sketcher.server.searches import Searches
from sketcher.server.serve import ROOM, bound
from sketcher.server.workers import Busy, Ended, Stopped, TooLong, Workers
from tests.browser.conftest import Server
from tests.importing.test_hostile import SQUARE, svg


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    server = Server(tmp_path_factory.mktemp("room"))
    server.start()
    yield server
    server.stop()


def asked(server: Server, path: str, content: object = None, method: str = "GET") -> int:
    request = urllib.request.Request(
        server.address.rstrip("/") + path,
        None if content is None else json.dumps(content).encode(),
        {"Content-Type": "application/json", **server.known},
        method=method,
    )
    try:
        with urllib.request.urlopen(request, timeout=120) as answer:
            answer.read()
            return int(answer.status)
    except urllib.error.HTTPError as error:
        return error.code


def slowest_ping(server: Server, times: int = 8) -> float:
    worst = 0.0
    for _ in range(times):
        begun = time.monotonic()
        assert server.get("/api/ping") == {"here": True}
        worst = max(worst, time.monotonic() - begun)
        time.sleep(0.05)
    return worst


def test_a_save_on_a_lock_and_exports_and_silent_sockets_do_not_hold_up_a_ping(running: Server) -> None:
    stored = running.post("/api/plates", {"example": "small-board"})
    plate = stored["id"]
    silent = [socket.create_connection(("127.0.0.1", running.port)) for _ in range(200)]
    lock = sqlite3.connect(running.data / "plates.sqlite3", isolation_level=None)
    try:
        for number, one in enumerate(silent):
            if number % 3 == 1:
                one.sendall(b"GET /api/ping HTTP/1.1\r\nHost: 127")
            if number % 3 == 2:  # a body that never comes to its end
                one.sendall(b"POST /api/look HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 1000000\r\n\r\n{")
        lock.execute("BEGIN IMMEDIATE")
        with concurrent.futures.ThreadPoolExecutor(12) as pool:
            save = {"base": stored["state"], "document": stored["document"], "label": "waits"}
            saves = [pool.submit(asked, running, f"/api/plates/{plate}", save, "PUT") for _ in range(6)]
            files = [pool.submit(asked, running, f"/api/plates/{plate}/export?sheet=test-piece") for _ in range(6)]
            assert slowest_ping(running) < 1.0
            assert not all(one.done() for one in saves)
            lock.execute("ROLLBACK")
            assert {one.result() for one in files} == {200}
            # Let in once the lock is gone, or refused with the store's own words; nothing is lost on the way.
            assert {one.result() for one in saves} <= {200, 507}
    finally:
        lock.close()
        for one in silent:
            one.close()
    assert running.plate(plate) == stored["document"]


def test_a_thousand_slow_connections_do_not_hold_up_the_page(running: Server) -> None:
    """Strangers that are silent, slow in their heads or in their bodies: each newer one drops the oldest of them, and
    the page's own line, which has shown the token, stays."""
    ours = http.client.HTTPConnection("127.0.0.1", running.port, timeout=10)

    def ping() -> float:
        begun = time.monotonic()
        ours.request("GET", "/api/ping", headers=running.known)
        assert ours.getresponse().read().strip() == b'{"here":true}'
        return time.monotonic() - begun

    ping()
    kept = ours.sock
    starts = [
        b"",
        b"GET /api/ping HTTP/1.1\r\nHost: 127",
        b"POST /api/look HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 60000\r\n\r\n{",
        b"POST /api/look HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\n5",
    ]
    slow: list[socket.socket] = []
    worst = 0.0
    try:
        for number in range(1000):
            slow.append(socket.create_connection(("127.0.0.1", running.port), timeout=10))
            slow[-1].sendall(starts[number % 4])
            if number > 600:
                slow[number - 600].close()  # so that the test itself needs fewer than a thousand
            if number % 100 == 0:
                worst = max(worst, ping(), slowest_ping(running, 1))
        assert worst < 1.0
        assert ours.sock is kept
    finally:
        ours.close()
        for one in slow:
            one.close()


def test_who_is_slow_is_dropped_whatever_the_clock_says(monkeypatch: pytest.MonkeyPatch) -> None:
    """Heads, bodies, answers that nobody fetches and lines on which nothing is asked each have their time; a system
    clock that is set back a day in the meantime changes none of them."""
    for name in ("HEAD_S", "BODY_S", "UNFETCHED_S", "IDLE_S"):
        monkeypatch.setattr(connections, name, 0.3)
    monkeypatch.setattr(connections, "LOOKED_AFTER_S", 0.05)

    def large(_: object, start_response: Callable[..., object]) -> list[bytes]:
        start_response("200 OK", [])
        return [b"x" * 30_000_000]

    sockets: dict[int, Any] = {}
    room = {**ROOM, "threads": 2, "asyncore_loop_timeout": 0.05}
    server = connections.Server(large, bound(0), lambda _: True, map=sockets, **room)
    threading.Thread(target=server.run, daemon=True).start()
    try:
        whole = b"GET / HTTP/1.1\r\nHost: here\r\n\r\n"
        sent = [b"", b"GET /", b"POST / HTTP/1.1\r\nHost: here\r\nContent-Length: 9\r\n\r\n{", whole, whole * 3]
        lines = [socket.create_connection(("127.0.0.1", server.effective_port), timeout=10) for _ in sent]
        for line, data in zip(lines, sent, strict=True):
            line.sendall(data)
        today = time.time
        monkeypatch.setattr(time, "time", lambda: today() - 86_400)
        for number, line in enumerate(lines):
            got = 0
            with contextlib.suppress(ConnectionResetError):
                if number >= 3:  # nothing is fetched until it is too late
                    until = time.monotonic() + 10
                    while server.active_channels and time.monotonic() < until:
                        time.sleep(0.02)
                while part := line.recv(65536):
                    got += len(part)
            assert got == 0 if number < 3 else got < 30_000_000
            line.close()
        assert not server.active_channels
    finally:
        server.close()


def test_half_a_line_closed_is_no_reason_not_to_answer(running: Server) -> None:
    """RFC 9293, 3.6: who has closed his half has no more to send, and is entitled to what is sent to him."""
    head = f"GET /api/ping HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {running.token}\r\n\r\n"
    with socket.create_connection(("127.0.0.1", running.port), timeout=10) as line:
        line.sendall(head.encode() * 3)
        line.shutdown(socket.SHUT_WR)
        said = b""
        while part := line.recv(65536):
            said += part
    assert said.count(b'{"here":true}') == 3


PLATE = json.dumps({"example": "small-board"}).encode()
CHUNKED = b"%x\r\n%s\r\n0\r\n\r\n" % (len(PLATE), PLATE)


@pytest.mark.parametrize(
    ("line", "headers", "body", "status"),
    [
        ("GET /" + "a" * 1_000_000 + " HTTP/1.1", "", b"", 431),
        ("GET /api/ping HTTP/1.1", "\r\n".join(f"X-{k}: y" for k in range(4000)), b"", 200),
        # Without content there is nothing to wait for, and with too much nothing to go on with (RFC 9110, 10.1.1).
        ("GET /api/ping HTTP/1.1", "Expect: 100-continue", b"", 200),
        ("POST /api/plates HTTP/1.1", "Expect: 100-continue\r\nContent-Length: 99999999999", b"", 413),
        ("POST /api/plates HTTP/1.1", "Content-Length: 65000000", b" " * 65_000_000, 413),
        # What stands behind a chunk's size, and behind the last chunk, may be refused when it is long (RFC 9112, 7.1).
        ("POST /api/plates HTTP/1.1", "Transfer-Encoding: chunked", b"0" * 20_000_000, 400),
        ("POST /api/plates HTTP/1.1", "Transfer-Encoding: chunked", b"0\r\nX: " + b"y" * 2_000_000, 400),
        ("POST /api/plates HTTP/1.1", "Transfer-Encoding: gzip, chunked", b"0\r\n\r\n", 501),
        ("GET /api/ping HTTP/1.0", "", b"", 200),
        ("GET /api/ping", "", b"", 200),  # HTTP/0.9 has no headers; what stands there all the same is read
        ("POST /api/plates HTTP/1.1", "Transfer-Encoding: chunked", CHUNKED, 201),
        ("POST /api/plates HTTP/1.1", "Transfer-Encoding: chunked", b"-5\r\n" + PLATE, 400),
        # Two lengths, or a length beside chunks, are how one request is hidden in another (RFC 9112, 6.3 and 11.2).
        ("POST /api/plates HTTP/1.1", "Content-Length: 2\r\nContent-Length: 3", b"{}x", 400),
        ("POST /api/plates HTTP/1.1", "Content-Length: 5\r\nTransfer-Encoding: chunked", b"0\r\n\r\n", 400),
        ("POST /api/plates HTTP/1.1", "Content-Length: -1", b"{}", 400),
        ("POST /api/plates HTTP/1.1", "Content-Length: 99999999999999999999", b"{}", 413),
        ("POST /api/plates HTTP/1.1", "Content-Encoding: gzip\r\nContent-Length: 2", b"\x1f\x8b", 400),
        ("GET /api/ping HTTP/1.1", "X-Long: " + "a" * 300_000, b"", 431),
        ("GET /api/ping HTTP/1.1", "Host: elsewhere.example", b"", 403),
        ("GET /api/plates/%00 HTTP/1.1", "", b"", 404),
        ("GET /static/..%2f..%2fpyproject.toml HTTP/1.1", "", b"", 404),
        ("GET /static/%ff%00 HTTP/1.1", "", b"", 404),
        ("GET /api//ping HTTP/1.1", "", b"", 404),
        ("TRACE /api/ping HTTP/1.1", "", b"", 405),
        ("GET /static/main.js HTTP/1.1", "Range: bytes=5-1", b"", 416),
    ],
)
def test_odd_requests_are_answered_or_refused(
    running: Server, line: str, headers: str, body: bytes, status: int
) -> None:
    """The statuses are those of RFC 9110 and 9112 for what is wrong."""
    head = f"{line}\r\nHost: 127.0.0.1:{running.port}\r\nAuthorization: Bearer {running.token}\r\n"
    head += "Content-Type: application/json\r\nConnection: close\r\n" + (f"{headers}\r\n" if headers else "") + "\r\n"
    with socket.create_connection(("127.0.0.1", running.port), timeout=30) as line_:
        line_.sendall(head.encode() + body)
        said = b""
        while part := line_.recv(65536):
            said += part
    assert int(said.split()[1]) == status, said[:300]
    if status >= 400:
        assert json.loads(said.split(b"\r\n\r\n", 1)[1])["error"]["message"]
        assert not re.search(rb"requested|waitress|[Gg]enerated", said)  # a library's own words
    assert running.get("/api/ping") == {"here": True}


@pytest.fixture(scope="module")
def workers() -> Workers:
    return Workers(most=1, waiting=1)


#: Twelve thousand loose squares: seconds of work within every bound.
LONG = svg(SQUARE + "".join(f'<path d="M{k % 140 * 2} {k // 140 * 2}h1v1h-1z"/>' for k in range(12_000)))


def test_tasks_beside_the_server_answer_refuse_and_end_as_they_do_within_it(workers: Workers) -> None:
    drawing = svg(SQUARE)
    assert workers.run("read_drawing", drawing, "svg", None, seconds=60) == from_bytes(drawing, "svg")
    with pytest.raises(DrawingError, match="no SVG file"):
        workers.run("read_drawing", b"<svg", "svg", None, seconds=60)
    with pytest.raises(UnitUnknown, match="say which") as unknown:
        workers.run("read_drawing", b'<svg xmlns="http://www.w3.org/2000/svg"/>', "svg", None, seconds=60)
    assert "mm" in unknown.value.options
    with pytest.raises(TooLong):
        workers.run("read_drawing", LONG, "svg", None, seconds=0.2)
    stop = threading.Event()
    heard: list[float] = []

    def hear(share: float) -> None:
        heard.append(share)
        stop.set()

    with pytest.raises(Stopped):
        workers.run("read_drawing", LONG, "svg", None, seconds=60, progress=hear, stop=stop)
    assert 0 < heard[0] <= 1
    # After an end by force the next task finds a new process.
    assert workers.run("read_drawing", drawing, "svg", None, seconds=60) == from_bytes(drawing, "svg")


def test_a_process_that_the_system_ends_at_work_is_told_so(workers: Workers) -> None:
    """As it does when memory is short; one that cannot begin says the same."""

    def end_it(_: float) -> None:
        for process in workers._all:
            process.process.kill()

    with pytest.raises(Ended):
        workers.run("read_drawing", LONG, "svg", None, seconds=60, progress=end_it)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "executable", "/nowhere/python")
        with pytest.raises(Ended):
            workers.run("read_drawing", svg(SQUARE), "svg", None, seconds=60)
        with pytest.raises(Refusal, match="want of memory"):
            Searches().search({})


@pytest.mark.long
@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="no process can be halted here")
def test_a_process_that_takes_nothing_is_given_up_in_time(workers: Workers) -> None:
    """More than a pipe holds, for one that is halted: the writing itself would wait for good. And one that the system
    ended while it waited for work is replaced before anybody notices."""
    for ended in (True, False):
        assert workers.run("read_drawing", svg(SQUARE), "svg", None, seconds=60) == from_bytes(svg(SQUARE), "svg")
        (process,) = [one.process for one in workers._idle]
        if ended:
            process.kill()
    process.send_signal(signal.SIGSTOP)
    with pytest.raises(TooLong):
        workers.run("read_drawing", b"x" * 2_000_000, "svg", None, seconds=0.3)
    assert process.poll() is not None


def test_more_than_may_wait_are_refused_at_once(workers: Workers) -> None:
    stop = threading.Event()
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        waiting = [pool.submit(workers.run, "read_drawing", LONG, "svg", None, seconds=60, stop=stop) for _ in range(2)]
        until = time.monotonic() + 30
        refused = False
        while not refused and time.monotonic() < until:
            try:
                workers.run("read_drawing", LONG, "svg", None, seconds=0.01, stop=stop)
            except Busy:
                refused = True
            except TooLong:
                continue
        stop.set()
        for one in waiting:
            with pytest.raises(Stopped):
                one.result()
    assert refused


def test_a_long_import_is_begun_looked_at_and_cancelled(running: Server) -> None:
    def sent(data: bytes) -> str:
        request = urllib.request.Request(
            f"{running.address}api/floor/imports?kind=svg", data, {**running.known, "Content-Type": "image/svg+xml"}
        )
        with urllib.request.urlopen(request, timeout=30) as answer:
            assert answer.status == 202
            return str(json.load(answer)["job"])

    short = sent(svg(SQUARE + '<circle cx="50" cy="50" r="9"/>'))
    until = time.monotonic() + 60
    while (state := running.get(f"/api/floor/imports/{short}"))["state"] == "running" and time.monotonic() < until:
        time.sleep(0.05)
    assert (state["state"], state["share"], len(state["answer"]["inner"])) == ("done", 1.0, 1)
    long = sent(LONG)
    assert asked(running, f"/api/floor/imports/{long}", method="DELETE") == 200
    assert running.get(f"/api/floor/imports/{long}")["state"] in ("cancelled", "done")
    assert asked(running, "/api/floor/imports/none") == 404


@pytest.mark.long
def test_no_process_outlives_the_server(tmp_path: Path) -> None:
    workers = Workers()
    workers.run("read_drawing", svg(SQUARE), "svg", None, seconds=60)
    (process,) = [one.process for one in workers._all]
    del workers
    assert process.wait(timeout=10) is not None
