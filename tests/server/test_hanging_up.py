"""Fixes are tried as long as somebody waits for them: who hangs up is noticed, and nothing more is tried."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable
from typing import Any

from sketcher.checks.running import look_over, run, scene_for
from sketcher.document.remembered import forget_all
from sketcher.server.connections import Server
from sketcher.server.serve import ROOM, bound
from tests.checks.plates import channel, plate, rectangle


def test_the_server_sees_while_it_works_that_the_asker_has_hung_up() -> None:
    begun, seen = threading.Event(), threading.Event()

    def works(environ: dict[str, Any], start_response: Callable[..., Any]) -> list[bytes]:
        begun.set()
        for _ in range(1000):
            if environ["waitress.client_disconnected"]():
                seen.set()
                break
            threading.Event().wait(0.01)
        start_response("200 OK", [])
        return [b""]

    sockets: dict[int, Any] = {}
    server = Server(works, bound(0), lambda _: True, map=sockets, **{**ROOM, "threads": 1})
    threading.Thread(target=server.run, daemon=True).start()
    try:
        with socket.create_connection(("127.0.0.1", server.effective_port)) as line:
            line.sendall(b"GET / HTTP/1.1\r\nHost: here\r\n\r\n")
            assert begun.wait(10)
            assert not seen.is_set()
        assert seen.wait(10)
    finally:
        server.close()


def test_nothing_more_is_tried_when_nobody_waits_and_all_of_it_when_asked_again() -> None:
    """Three pockets over a channel, each with a certain fix: less deep."""
    document = plate(
        plate={"body_thickness_is": "measured", "lid_thickness_is": "measured"},
        channels=[channel("C1", (60, 150), (240, 150))],
        pockets=[{"id": f"R{k}", "outline": rectangle(50 * k + 50, 150, 20, 20), "depth_mm": 10} for k in (1, 2, 3)],
    )
    forget_all()
    found = run(document)
    assert any(finding.fix for finding in found)
    forget_all()
    asked: list[int] = []

    def wanted() -> bool:
        asked.append(len(asked))
        return len(asked) < 2

    left = look_over(scene_for(document), wanted=wanted)
    assert len(asked) == 2
    assert [finding.message for finding in left] == [finding.message for finding in found]
    assert not any(finding.fix for finding in left)
    # What was tried before the line was cut is right, and the same is offered when it is asked again.
    assert run(document) == found
