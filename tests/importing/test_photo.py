"""Photos laid flat, and photos refused by their first bytes."""

import io
import json
import math
import struct

import numpy as np
import pytest
from PIL import Image

from sketcher.document.floor import Photo, PhotoMark
from sketcher.importing import image_size
from sketcher.importing.photo import PhotoError, rectify, solve


def camera(tilt_deg=35.0, height=600.0, focal=1500.0, middle=(1000.0, 750.0), aim=(200.0, 150.0)):
    """A pinhole camera above the floor, looking down at ``aim`` from the front: floor mm to pixels, y down. The
    textbook's projection, apart from the program's."""
    tilt = math.radians(tilt_deg)
    forward = np.array([0.0, math.sin(tilt), -math.cos(tilt)])
    right = np.array([1.0, 0.0, 0.0])
    down = np.cross(forward, right)
    eye = np.array([*aim, 0.0]) - forward * height / math.cos(tilt)

    def project(places):
        rows = np.column_stack((np.asarray(places, float), np.zeros(len(places)))) - eye
        depth = rows @ forward
        return np.column_stack((middle[0] + focal * (rows @ right) / depth, middle[1] + focal * (rows @ down) / depth))

    return project


CORNERS = [(0, 0), (400, 0), (400, 300), (0, 300)]
OTHERS = [(120, 80), (300, 200), (210, 40)]


def photo(places=CORNERS, checks=OTHERS, noise=0.0, project=None, seed=1, size=(2000, 1500)):
    rng = np.random.default_rng(seed)
    project = project or camera()
    marks = []
    for group, check in ((places, False), (checks, True)):
        if not group:
            continue
        for (x, y), (u, v) in zip(group, project(group) + rng.normal(0, noise, (len(group), 2)), strict=True):
            marks.append(PhotoMark(x_px=u, y_px=v, x_mm=x, y_mm=y, check=check))
    return Photo(file="a.png", width_px=size[0], height_px=size[1], marks=marks)


@pytest.mark.parametrize("tilt", [0.0, 20.0, 45.0])
def test_a_pinhole_cameras_photo_is_laid_flat(tilt):
    project = camera(tilt)
    found = rectify(photo(project=project))
    assert found.misses == pytest.approx(np.zeros((7, 2)), abs=1e-6)
    assert found.trust_mm == pytest.approx(0.0, abs=1e-6)
    places = np.array([(50.0, 60.0), (333.0, 222.0)])
    assert found.to_px(places) == pytest.approx(project(places), abs=1e-6)


def test_unsteady_picks_are_judged_by_the_points_kept_back():
    errors = [rectify(photo(noise=1.5, seed=seed)).trust_mm for seed in range(60)]
    picked = rectify(photo()).pick_mm
    assert 0.3 * picked < np.median(errors) < 4 * picked


def test_more_marks_make_a_better_photo():
    four = [rectify(photo(noise=1.5, seed=s)).trust_mm for s in range(40)]
    more = [rectify(photo(places=[*CORNERS, (200, 0), (200, 300), (0, 150), (400, 150)], noise=1.5, seed=s)).trust_mm
            for s in range(40)]  # fmt: skip
    assert np.mean(more) < np.mean(four)


def test_a_mark_typed_wrong_is_named():
    base = photo()
    marks = [*base.marks[:-1], base.marks[-1].model_copy(update={"x_mm": 240.0})]
    found = rectify(base.model_copy(update={"marks": marks}))
    assert any("240, 40 mm comes out" in message for message in found.messages)


def test_four_marks_alone_cannot_be_judged():
    found = rectify(photo(checks=[]))
    assert found.trust_mm is None
    assert "nothing checks them" in found.messages[0]
    assert "middle of a side" in found.messages[0]
    assert json.dumps(found.as_json(), allow_nan=False)


def test_unit_square_to_a_known_quadrilateral():
    """Heckbert 1989, Fundamentals of Texture Mapping and Image Warping, section 2.2.2: closed form of the map from the
    unit square; dx1 = x1 - x2, dx2 = x3 - x2, sx = x0 - x1 + x2 - x3 and so on in y.
    """
    quad = np.array([(0.0, 0.0), (4.0, 1.0), (5.0, 4.0), (1.0, 3.0)])
    square = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = quad
    dx1, dx2, sx = x1 - x2, x3 - x2, x0 - x1 + x2 - x3
    dy1, dy2, sy = y1 - y2, y3 - y2, y0 - y1 + y2 - y3
    det = dx1 * dy2 - dx2 * dy1
    g, h = (sx * dy2 - dx2 * sy) / det, (dx1 * sy - sx * dy1) / det
    expected = np.array(
        [[x1 - x0 + g * x1, x3 - x0 + h * x3, x0], [y1 - y0 + g * y1, y3 - y0 + h * y3, y0], [g, h, 1.0]]
    )
    found = solve(square, quad)
    assert found / found[2, 2] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("places", "says"),
    [
        (CORNERS[:3], "mark 1 more"),
        ([(0, 0), (100, 0), (200, 0), (0, 300)], "on one line"),
        ([(0, 0), (0, 0.01), (400, 300), (0, 300)], "in one place"),
        ([(0, 0), (100, 100), (200, 200), (300, 300)], "on one line"),
    ],
)
def test_marks_that_place_nothing(places, says):
    with pytest.raises(PhotoError, match=says):
        rectify(photo(places=places, checks=[]))


def test_marks_mixed_up_are_noticed():
    base = photo(checks=[])
    swapped = [m.model_copy(update={"x_mm": o.x_mm, "y_mm": o.y_mm}) for m, o in
               zip(base.marks, [base.marks[k] for k in (1, 0, 2, 3)], strict=True)]  # fmt: skip
    with pytest.raises(PhotoError, match="mixed up"):
        rectify(base.model_copy(update={"marks": swapped}))
    mirrored = [m.model_copy(update={"x_mm": 400 - m.x_mm}) for m in base.marks]
    with pytest.raises(PhotoError, match="mirrored"):
        rectify(base.model_copy(update={"marks": mirrored}))


# The size of a picture from its first bytes; Pillow writes it, an independent reader and writer.


def encoded(width, height, kind, **more):
    stream = io.BytesIO()
    Image.new("RGB", (width, height), "grey").save(stream, kind, **more)
    return stream.getvalue()


@pytest.mark.parametrize("size", [(1, 1), (640, 480), (3, 2000)])
@pytest.mark.parametrize(
    ("kind", "more"), [("PNG", {}), ("JPEG", {}), ("JPEG", {"progressive": True}), ("JPEG", {"comment": b"x" * 300})]
)
def test_size_as_pillow_wrote_it(size, kind, more):
    found = image_size.checked_size(encoded(*size, kind, **more))
    assert (found.width_px, found.height_px) == size
    assert found.kind == kind.lower()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_turned_jpeg_has_its_shown_size(orientation):
    exif = Image.Exif()
    exif[0x0112] = orientation
    found = image_size.checked_size(encoded(300, 200, "JPEG", exif=exif))
    assert (found.width_px, found.height_px) == ((200, 300) if orientation >= 5 else (300, 200))


def test_a_photo_of_200_megapixels_is_refused_unopened():
    data = bytearray(encoded(8, 8, "PNG"))
    data[16:24] = struct.pack(">II", 16_320, 12_240)
    with pytest.raises(image_size.ImageError, match="200 megapixels"):
        image_size.checked_size(bytes(data))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "neither PNG nor JPEG"),
        (b"GIF89a" + b"\0" * 40, "neither PNG nor JPEG"),
        (encoded(9, 9, "PNG")[:20], "cut off"),
        (encoded(9, 9, "JPEG")[:30], "cut off"),
        (b"\xff\xd8\xff\xd9", "cut off"),
        (b"\xff\xd8" + b"\xff" * 40, "cut off"),
        # Half of the picture: what is missing would be drawn grey, and measured on.
        (encoded(200, 200, "JPEG")[:-40], "cut off"),
        # Counted one by one, twelve million bytes held the program for eight seconds.
        (b"\xff\xd8" + b"\xff\xe0\0\x02" * 20_000 + encoded(9, 9, "JPEG")[2:], "cut off"),
        (b"\x89PNG\r\n\x1a\n" + struct.pack(">I4sII", 13, b"IHDR", 0, 5), "no size"),
    ],
)
def test_pictures_that_are_none(data, says):
    with pytest.raises(image_size.ImageError, match=says):
        image_size.checked_size(data)
