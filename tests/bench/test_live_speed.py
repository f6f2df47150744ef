"""What the server takes for a move of a drag, as a ratio to an empty request, and as the plate grows.

Through the application itself, without a network: the browser's share is measured by ``test_drag_feel``.
``docs/speed.md`` has the figures. ``python -m tests.bench.test_live_speed`` prints them.
"""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

from sketcher.document import Document, read, to_plain
from sketcher.document.collector import collect_rarely
from sketcher.document.remembered import forget_all
from sketcher.server import create_app
from tests.bench.test_check_speed import DEMO, best
from tests.checks.plates import made


def measure(*documents: Document) -> list[list[float]]:
    """For each document, seconds of a move with what is remembered of the last one, of one from nothing, of a ping,
    and of a move that is asked about by its edit."""
    collect_rarely()  # as the server does when it begins
    with tempfile.TemporaryDirectory() as folder:
        app = create_app(Path(folder))
        client = app.test_client()
        client.get(f"/?token={app.extensions['keys'].token}").close()  # the page's cookie

        def ask(plain: dict) -> None:
            plain["ports"][0]["x_mm"] += 0.01
            sent = json.dumps({"document": plain, "want": ["findings", "flow"], "quick": True})
            assert client.post("/api/look", data=sent, content_type="application/json").status_code == 200

        names: dict[int, str] = {}

        def edit(plain: dict) -> None:
            """A move as the page asks about it: by the edit, once the server knows the plate."""
            plain["ports"][0]["x_mm"] += 0.01
            what = {"want": ["findings", "flow"], "quick": True, "keep": True}
            name = names.get(id(plain))
            what |= {"base": name, "edit": {"ports": {"0": plain["ports"][0]}}} if name else {"document": plain}
            found = client.post("/api/look", data=json.dumps(what), content_type="application/json")
            assert found.status_code == 200
            names[id(plain)] = json.loads(found.data)["known"]

        def anew(plain: dict) -> None:
            forget_all()
            ask(plain)

        found = []
        for document in documents:
            plain = to_plain(document)
            nothing, ping = best(
                lambda plain=plain: anew(plain), lambda: client.get("/api/ping"), rounds=3, seconds=0.3
            )
            ask(plain)
            (move,) = best(lambda plain=plain: ask(plain), rounds=4, seconds=0.3)
            edit(plain)
            (by_edit,) = best(lambda plain=plain: edit(plain), rounds=6, seconds=0.4)
            found.append([move, nothing, ping, by_edit])
    return found


def test_a_move_of_a_large_plate_takes_less_than_an_answer_from_nothing() -> None:
    (small, small_anew, *_), (large, large_anew, *_) = measure(read(DEMO), made(6000))
    # On a small plate the rules are most of it, and they look at every pair again: it is only no slower.
    assert small <= 1.1 * small_anew, f"{small * 1e3:.1f} ms against {small_anew * 1e3:.1f} ms"
    assert large <= 0.8 * large_anew, f"{large * 1e3:.0f} ms against {large_anew * 1e3:.0f} ms"


def test_a_move_of_a_hundred_times_the_items_takes_at_most_three_times_the_time() -> None:
    ratios = []
    for _ in range(3):  # the best of three: other work on the machine only ever adds
        (*_, few), (*_, many) = measure(made(60), made(6000))
        ratios.append(many / few)
        if ratios[-1] <= 3:
            return
    raise AssertionError(f"{min(ratios):.1f} times")


if __name__ == "__main__":
    names = ("demo", "60", "6000")
    for name, row in zip(names, measure(read(DEMO), made(60), made(6000)), strict=True):
        move, nothing, ping, by_edit = (f"{seconds * 1e3:8.2f} ms" for seconds in row)
        print(f"{name:>5}  by edit {by_edit}   by document {move}   from nothing {nothing}   ping {ping}")
