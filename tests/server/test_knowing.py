"""Questions that carry an edit of a document that is known, and answers that carry what differs.

The second method is the question with the whole document: both must say the same.
"""

from __future__ import annotations

import copy
import json
import random
import re
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from sketcher.server import create_app
from tests.server.test_dragging import differing, step

DEMO = Path(__file__).parents[2] / "examples" / "riser-bench.json"
WANT = ["findings", "flow"]
#: As the page cuts a drawing's text (``static/server/knowing.js``).
CUT = r'(?=<g class="(?:item|layer|finding))'


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> FlaskClient:
    return create_app(tmp_path_factory.mktemp("knowing")).test_client()


@pytest.fixture
def demo() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(DEMO.read_text("utf-8"))
    return found


def edit_between(before: dict[str, Any], now: dict[str, Any]) -> dict[str, Any]:
    edit: dict[str, Any] = {}
    for key in now:
        if now[key] != before[key]:
            rows = enumerate(zip(before[key], now[key], strict=True))
            edit[key] = {str(n): other for n, (one, other) in rows if one != other}
    return edit


def together(before: list[Any], pieces: list[dict[str, Any]]) -> list[Any]:
    found: list[Any] = []
    for piece in pieces:
        found += piece["rows"] if "rows" in piece else before[piece["start"] : piece["start"] + piece["count"]]
    return found


def whole(found: dict[str, Any], before: dict[str, Any]) -> dict[str, Any]:
    """An answer as its whole, as the page puts it together."""
    differences = found.pop("differences") or {}
    found.pop("known")
    if "findings" in differences:
        found["findings"] = together(before["findings"], differences["findings"])
    if "flow" in differences:
        elements = together(
            before["flow"]["elements"], differences["flow"].get("elements", [{"start": 0, "count": 9999}])
        )
        found["flow"] = {**before["flow"], **differences["flow"], "elements": elements}
    if "drawing" in differences:
        drawing = differences["drawing"]
        rows = together(re.split(CUT, before["drawing"]["svg"]), drawing.pop("rows"))
        found["drawing"] = {"svg": "".join(rows), **drawing}
    if "snaps" in differences:
        found["snaps"] = before["snaps"]
    return found


def test_a_drag_by_edits_says_what_whole_documents_say(client: FlaskClient, demo: dict[str, Any]) -> None:
    chance = random.Random(3)
    first = client.post("/api/look", json={"document": demo, "want": WANT, "quick": True, "keep": True}).get_json()
    name, before, sizes = first["known"], whole(first, {}), []
    for _ in range(12):
        now = step(demo, chance)
        edit = edit_between(demo, now)
        sent = {"base": name, "edit": edit, "want": WANT, "quick": True, "keep": True}
        answer = client.post("/api/look", json=sent)
        full = client.post("/api/look", json={"document": now, "want": WANT, "quick": True})
        if full.status_code != 200:
            assert (answer.status_code, answer.get_json()) == (full.status_code, full.get_json())
            continue
        found = answer.get_json()
        sizes.append(len(answer.data) / len(full.data))
        demo, name, before = now, found["known"], whole(found, before)
        assert differing(before, full.get_json()) == []
    assert min(sizes) < 0.5, sizes


def test_drawing_and_snapping_places_come_by_what_differs(client: FlaskClient, demo: dict[str, Any]) -> None:
    """Random edits, what is wanted by turns: what is put together is the answer to the whole document."""
    chance, name, before, bytes_ = random.Random(5), None, {}, []
    wants = (["findings", "flow", "drawing", "snaps"], WANT, ["drawing"], [*WANT, "drawing"], ["findings", "snaps"])
    for n in range(15):
        now, want = (demo if n == 0 else step(demo, chance)), wants[n % len(wants)]
        asked = {"want": want, "quick": True, "keep": True}
        edit = {"base": name, "edit": edit_between(demo, now)} if name else {"document": now}
        answer = client.post("/api/look", json={**asked, **edit})
        full = client.post("/api/look", json={"document": now, "want": want, "quick": True})
        if full.status_code != 200:
            continue
        found = answer.get_json()
        if n and "drawing" in want:
            bytes_.append(len(answer.data) / len(full.data))
        demo, name = now, found["known"]
        put = whole(found, before)
        assert differing(put, full.get_json()) == []
        before = {**before, **{part: put[part] for part in want if put[part] is not None}}
    assert min(bytes_) < 0.3, bytes_


def test_a_base_of_another_run_is_not_known(client: FlaskClient, demo: dict[str, Any], tmp_path: Path) -> None:
    name = client.post("/api/look", json={"document": demo, "want": WANT, "keep": True}).get_json()["known"]
    anew = create_app(tmp_path).test_client()
    refused = anew.post("/api/look", json={"base": name, "edit": {}, "want": WANT})
    assert (refused.status_code, refused.get_json()["error"]["code"]) == (409, "unknown-base")


def test_a_base_stays_what_it_was(client: FlaskClient, demo: dict[str, Any]) -> None:
    """Undo goes back to an older document: its name still stands for it, whatever was asked from it since."""
    name = client.post("/api/look", json={"document": demo, "want": WANT, "keep": True}).get_json()["known"]
    port = {**demo["ports"][0], "x_mm": demo["ports"][0]["x_mm"] + 40}
    moved = {"base": name, "edit": {"ports": {"0": port}}, "want": WANT, "keep": True}
    assert client.post("/api/look", json=moved).status_code == 200
    back = client.post("/api/look", json={"base": name, "edit": {}, "want": WANT}).get_json()
    full = client.post("/api/look", json={"document": demo, "want": WANT}).get_json()
    assert back["findings"] == full["findings"]


@pytest.mark.parametrize(
    ("edit", "pointer"),
    [
        ({"ports": {"0": {"x_mm": 5}}}, "/ports/0/id"),
        ({"ports": {"99": {"id": "P1", "x_mm": 5, "y_mm": 5}}}, "/ports/99"),
        ({"ports": {"x": {}}}, "/ports/x"),
        ({"plate": {"0": {}}}, "/plate"),
        ({"ports": {"1": {"id": "P1", "x_mm": 5, "y_mm": 5}}}, "/ports/1/id"),
        ({"ports": {"0": 7}}, "/ports/0"),
        ({"channels": {"0": {"id": "C1", "start": "P77", "end": "P2", "width_mm": 8, "depth_mm": 8}}},
         "/channels/0/start"),
        ({"cutouts": {"0": {"id": "K1", "outline": {"shape": "rectangle", "x_mm": 9, "y_mm": 9, "width_mm": 9,
                                                    "depth_mm": 9, "corner_radius_mm": 8}}}},
         "/cutouts/0/outline/corner_radius_mm"),
    ],
)  # fmt: skip
def test_an_edit_that_is_none_is_refused_with_its_place(
    client: FlaskClient, demo: dict[str, Any], edit: dict[str, Any], pointer: str
) -> None:
    name = client.post("/api/look", json={"document": demo, "want": [], "keep": True}).get_json()["known"]
    refused = client.post("/api/look", json={"base": name, "edit": edit, "want": WANT})
    assert refused.status_code == 422
    assert refused.get_json()["error"]["pointer"] == pointer


def test_an_edit_of_more_than_places_is_the_whole_documents(client: FlaskClient, demo: dict[str, Any]) -> None:
    name = client.post("/api/look", json={"document": demo, "want": [], "keep": True}).get_json()["known"]
    now = copy.deepcopy(demo)
    now["channels"][0]["width_mm"] = 4
    now["ports"][2]["thread"] = None
    edit = edit_between(demo, now)
    found = client.post("/api/look", json={"base": name, "edit": edit, "want": WANT, "quick": True}).get_json()
    assert found == client.post("/api/look", json={"document": now, "want": WANT, "quick": True}).get_json()
