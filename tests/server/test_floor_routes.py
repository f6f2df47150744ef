"""Floors from drawings and the photo from above, over HTTP: taken, asked about, and refused with a reason."""

import base64
import io
import struct
import zlib

import pytest
from PIL import Image

from sketcher.server.app import create_app

SVG_MM = b"""<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">
<rect x="10" y="10" width="280" height="180"/><circle cx="100" cy="100" r="6"/></svg>"""
SVG_NO_UNIT = SVG_MM.replace(b"300mm", b"300").replace(b"200mm", b"200")
SCRIPTED = SVG_MM.replace(b"<circle", b"<script>alert(1)</script><circle")


@pytest.fixture
def client(tmp_path):
    return create_app(tmp_path).test_client()


@pytest.fixture
def plate(client):
    start = {"width_mm": 300, "depth_mm": 200, "body_thickness_mm": 12}
    return client.post("/api/plates", json={"start": start}).get_json()


def picture(size=(40, 30), kind="PNG"):
    held = io.BytesIO()
    Image.new("RGB", size, (120, 130, 140)).save(held, kind)
    return held.getvalue()


def test_a_drawing_is_looked_into(client):
    answer = client.post("/api/floor/import?kind=svg", data=SVG_MM)
    assert answer.status_code == 200
    found = answer.get_json()
    assert found["unit"] == "mm"
    corners = {(v["x_mm"], v["y_mm"]) for v in found["outline"]["vertices"]}
    assert corners == {(0, 0), (280, 0), (280, 180), (0, 180)}
    assert [(o["shape"], o["diameter_mm"]) for o in found["inner"]] == [("circle", 12)]


def test_the_unit_is_asked_for_and_then_taken(client):
    answer = client.post("/api/floor/import?kind=svg", data=SVG_NO_UNIT)
    assert answer.status_code == 422
    asked = answer.get_json()
    assert asked["error"]["code"] == "unit-unknown"
    assert set(asked["options"]) == {"mm", "cm", "m", "in"}
    answer = client.post("/api/floor/import?kind=svg&unit=cm", data=SVG_NO_UNIT)
    assert max(v["x_mm"] for v in answer.get_json()["outline"]["vertices"]) == pytest.approx(2800)


@pytest.mark.parametrize(
    ("query", "data", "status", "code"),
    [
        ("kind=svg", SCRIPTED, 422, "drawing"),
        ("kind=dxf", b"no drawing at all", 422, "drawing"),
        ("kind=svg", b"", 422, "drawing"),
        ("kind=png", SVG_MM, 400, "request"),
        ("kind=svg&unit=furlong", SVG_MM, 400, "request"),
    ],
)
def test_what_cannot_be_read_is_said(client, query, data, status, code):
    answer = client.post(f"/api/floor/import?{query}", data=data)
    assert answer.status_code == status
    assert answer.get_json()["error"]["code"] == code
    assert len(answer.get_json()["error"]["message"]) > 20


@pytest.mark.parametrize(
    ("inner", "openings", "obstacles"), [("openings", 1, 0), ("obstacles", 0, 1), ("nothing", 0, 0)]
)
def test_a_drawing_becomes_the_floor(client, plate, inner, openings, obstacles):
    content = {"kind": "svg", "inner": inner, "content_base64": base64.b64encode(SVG_MM).decode()}
    answer = client.post("/api/floor/use", json={"document": plate["document"], **content})
    assert answer.status_code == 200
    floor = answer.get_json()["document"]["floor"]
    assert floor["outline"]["shape"] == "polygon"
    assert (len(floor.get("openings", [])), len(floor.get("obstacles", []))) == (openings, obstacles)
    # The rest of the plate is untouched, and nothing is saved by asking.
    assert answer.get_json()["document"]["plate"] == plate["document"]["plate"]
    assert client.get(f"/api/plates/{plate['id']}").get_json()["document"] == plate["document"]


def test_content_that_is_not_base64_is_refused(client, plate):
    answer = client.post("/api/floor/use", json={"document": plate["document"], "kind": "svg", "content_base64": "§"})
    assert answer.status_code == 400


@pytest.mark.parametrize(("kind", "media", "ending"), [("PNG", "image/png", "png"), ("JPEG", "image/jpeg", "jpg")])
def test_a_photo_is_kept_and_given_back(client, plate, kind, media, ending):
    data = picture(kind=kind)
    kept = client.put(f"/api/plates/{plate['id']}/photo", data=data).get_json()
    assert (kept["width_px"], kept["height_px"]) == (40, 30)
    assert kept["file"].endswith(f".{ending}")
    again = client.get(f"/api/plates/{plate['id']}/files/{kept['file']}")
    assert again.data == data
    assert again.mimetype == media
    # The name fits the document as it is.
    document = {**plate["document"], "photo": kept}
    saved = client.put(f"/api/plates/{plate['id']}", json={"base": 1, "document": document, "label": "Photo"})
    assert saved.status_code == 200


def test_a_photo_of_200_megapixels_is_refused_by_its_first_bytes(client, plate):
    header = struct.pack(">IIBBBBB", 20_000, 10_000, 8, 2, 0, 0, 0)
    chunk = b"IHDR" + header
    data = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", len(header)) + chunk + struct.pack(">I", zlib.crc32(chunk))
    answer = client.put(f"/api/plates/{plate['id']}/photo", data=data)
    assert answer.status_code == 422
    assert "200 megapixels" in answer.get_json()["error"]["message"]


def test_what_is_no_photo_and_what_is_not_there(client, plate):
    assert client.put(f"/api/plates/{plate['id']}/photo", data=SVG_MM).status_code == 422
    assert client.put("/api/plates/999/photo", data=picture()).status_code == 404
    assert client.get(f"/api/plates/{plate['id']}/files/none.png").status_code == 404


def marked(document, places):
    marks = [{"x_px": x, "y_px": y, "x_mm": a, "y_mm": b, "check": check} for x, y, a, b, check in places]
    return {**document, "photo": {"file": "a.png", "width_px": 600, "height_px": 400, "marks": marks}}


def test_a_photo_is_placed_by_four_marks_and_judged_by_a_fifth(client, plate):
    # A photo from straight above, 2 px a millimetre: x = px / 2, y = 200 - py / 2. The fifth mark was typed 3 mm off.
    corners = [(0, 400, 0, 0, False), (600, 400, 300, 0, False), (600, 0, 300, 200, False), (0, 0, 0, 200, False)]
    document = marked(plate["document"], [*corners, (300, 200, 153, 100, True)])
    placed = client.post("/api/photo/place", json={"document": document}).get_json()
    assert placed["trust_mm"] == pytest.approx(3.0, abs=1e-6)
    m = placed["matrix"]
    depth = m[2][0] * 200 + m[2][1] * 100 + m[2][2]
    assert (m[0][0] * 200 + m[0][1] * 100 + m[0][2]) / depth == pytest.approx(100, abs=1e-6)
    assert (m[1][0] * 200 + m[1][1] * 100 + m[1][2]) / depth == pytest.approx(150, abs=1e-6)


def test_too_few_marks_and_no_photo_are_said(client, plate):
    answer = client.post("/api/photo/place", json={"document": marked(plate["document"], [(0, 0, 0, 0, False)])})
    assert answer.status_code == 422
    assert "four" in answer.get_json()["error"]["message"].lower()
    assert client.post("/api/photo/place", json={"document": plate["document"]}).status_code == 422


@pytest.mark.parametrize("scale", [0, -1, "ten", True, 1e9])
def test_a_scale_of_ellipses_that_is_none_is_refused(client, plate, scale):
    answer = client.post("/api/look", json={"document": plate["document"], "want": ["survey"], "ellipse_scale": scale})
    assert answer.status_code == 400
