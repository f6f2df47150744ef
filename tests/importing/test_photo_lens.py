"""Lens distortion and wrong marks, against a camera of the tests' own: pinhole, then Brown and Conrady's radial model.

The truth is what the simulation started from. ``pytest --long -s tests/importing/test_photo_lens.py`` takes more
photos; its figures are in ``docs/survey.md``.
"""

import math

import numpy as np
import pytest

from sketcher.document.floor import Photo, PhotoEdge, PhotoMark, Pixel
from sketcher.importing.photo import PhotoError, rectify
from sketcher.importing.photo_lens import _to_mm

CORNERS = [(0, 0), (400, 0), (400, 300), (0, 300)]
SIDES = [(200, 0), (400, 150), (200, 300), (0, 150)]
GRID = np.array([(x, y) for x in (0, 100, 200, 300, 400) for y in (0, 75, 150, 225, 300)], float)
SIZE = (4000, 3000)


def camera(rng, bend=None):
    """A phone above the floor: its half diagonal is 0.83 of its focal length; k1 to ±0.15 in focal lengths."""
    focal = math.hypot(*SIZE) / 2 / 0.83
    tilt, turn, height = math.radians(rng.uniform(0, 35)), rng.uniform(0, 2 * math.pi), rng.uniform(480, 700)
    forward = np.array([math.sin(tilt) * math.sin(turn), math.sin(tilt) * math.cos(turn), -math.cos(tilt)])
    roll = rng.uniform(-0.2, 0.2)
    right = np.cross(forward, [math.sin(roll), math.cos(roll), 0.0])
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    eye = np.array([200 + rng.normal(0, 15), 150 + rng.normal(0, 15), 0.0]) - forward * height
    k1, k2 = (rng.uniform(-0.15, 0.15), rng.uniform(-0.03, 0.03)) if bend is None else bend

    def project(places):
        rows = np.column_stack((np.asarray(places, float), np.zeros(len(places)))) - eye
        depth = rows @ forward
        seen = np.column_stack((rows @ right / depth, rows @ down / depth))
        square = (seen**2).sum(axis=1, keepdims=True)
        return seen * (1 + k1 * square + k2 * square**2) * focal + np.array(SIZE) / 2

    return project


def photo(rng, project, places, *, edges=0, picks=1.5, marks=0.3, typed=None):
    """A photo of known points: picked to 1.5 pixels, their places known to 0.3 mm."""
    seen = project(places) + rng.normal(0, picks, (len(places), 2))
    true = np.array(places if typed is None else typed, float) + rng.normal(0, marks, (len(places), 2))
    lines = []
    for y in (0, 300)[:edges]:
        seen_edge = project([(x, y) for x in range(0, 401, 80)]) + rng.normal(0, picks, (6, 2))
        lines.append(PhotoEdge(points=[Pixel(x_px=u, y_px=v) for u, v in seen_edge]))
    return Photo(
        file="a.png", width_px=SIZE[0], height_px=SIZE[1], edges=tuple(lines),
        marks=tuple(PhotoMark(x_px=u, y_px=v, x_mm=x, y_mm=y) for (u, v), (x, y) in zip(seen, true, strict=True)),
    )  # fmt: skip


def floor_mm(lens, pixels):
    """Floor places, mm, of pixels as picked; both (n, 2)."""
    return _to_mm(lens.parameters, lens.view.normal(pixels))


def coverage(places, count, seed, edges=0):
    """Share of floor places inside the stated 95 % radius, and of photos whose lens is said to be known."""
    hits, known, off, stated = [], 0, [], []
    for k in range(count):
        rng = np.random.default_rng([seed, k])
        project = camera(rng)
        found = rectify(photo(rng, project, places, edges=edges))
        seen = project(GRID)
        miss = np.hypot(*(floor_mm(found.lens, seen) - GRID).T)
        hits += list(miss <= found.lens.radius_95_mm(seen))
        known += found.lens.known
        off.append(float(miss.max()))
        stated.append(found.within_mm)
    return float(np.mean(hits)), known / count, float(np.median(off)), float(np.median(stated))


def test_a_lens_without_noise_is_found():
    rng = np.random.default_rng(1)
    project = camera(rng, bend=(0.1, -0.02))
    found = rectify(photo(rng, project, [*CORNERS, *SIDES, (200, 150)], picks=0.0, marks=0.0))
    # In half diagonals, 0.83 of the focal length, k1 and k2 take its square and its fourth power. What is known
    # beforehand draws them a little towards 0.
    assert found.lens.k1 == pytest.approx(0.1 * 0.83**2, abs=2 * found.lens.sigma_k1)
    assert np.hypot(*(floor_mm(found.lens, project(GRID)) - GRID).T).max() < 0.3
    assert found.lens.to_px(GRID) == pytest.approx(project(GRID), abs=1.5)


def test_straight_edges_tell_the_lens():
    bare, edged = coverage(CORNERS, 8, 2), coverage(CORNERS, 8, 2, edges=2)
    assert (bare[1], edged[1]) == (0.0, 1.0)
    assert edged[2] < bare[2]


@pytest.mark.parametrize("places", [CORNERS, [*CORNERS, *SIDES]])
def test_the_stated_radius_holds(places):
    held, _, _, _ = coverage(places, 16, 3)
    assert held >= 0.92  # 95 %, less what 16 photos may miss by chance: the misses of one photo go together


@pytest.mark.long
@pytest.mark.parametrize(
    ("places", "edges"), [(CORNERS, 0), ([*CORNERS, SIDES[0]], 0), ([*CORNERS, *SIDES], 0), (CORNERS, 2)]
)
def test_the_stated_radius_holds_in_many(places, edges):
    held, known, off, stated = coverage(places, 500, 4, edges)
    print(
        f"{len(places)} marks, {edges} edges: held {held:.4f}, known {known:.3f}, worst {off:.2f}, stated {stated:.2f}"
    )
    assert held >= 0.945


def test_four_marks_say_what_they_cannot_know():
    rng = np.random.default_rng(4)
    found = rectify(photo(rng, camera(rng), CORNERS))
    assert found.trust_mm is None
    assert not found.lens.known
    assert found.lens.k1 == pytest.approx(0.0, abs=1e-6)
    assert "cannot tell how the lens bends" in found.messages[0]
    assert f"{found.within_mm:.1f} mm" in found.messages[0]


def wrong(places, number, off, seed):
    rng = np.random.default_rng(seed)
    typed = [(x + off, y) if k == number else (x, y) for k, (x, y) in enumerate(places)]
    return rectify(photo(rng, camera(rng), places, typed=typed))


def test_a_wrong_mark_is_named_when_it_can_be_told():
    places = [*CORNERS, *SIDES]
    named = blamed = 0
    for seed in range(12):
        found = wrong(places, seed % 8, 20.0, seed)
        named += found.doubted == (seed % 8,)
        blamed += len(found.doubted) == 1 and found.doubted != (seed % 8,)
    assert blamed == 0
    assert named >= 9


def test_of_five_marks_the_wrong_one_cannot_be_told():
    """Any four place a photo. A fifth on one side does not check all four: some slips go unnoticed, none is blamed."""
    noticed = 0
    for seed in range(8):
        found = wrong([*CORNERS, (200, 0)], seed % 5, 20.0, seed)
        assert len(found.doubted) != 1
        if found.doubted:
            noticed += 1
            assert seed % 5 in found.doubted
            assert "cannot be told" in found.messages[0]
    assert noticed >= 4


def test_clean_marks_are_not_doubted():
    for seed in range(12):
        found = wrong([*CORNERS, *SIDES], 0, 0.0, seed)
        assert found.doubted == ()
        assert found.swapped == ()
        assert found.mismatch < 0.03


def test_marks_swapped_all_round_are_noticed_by_their_lengths():
    """Four corners named one too far round: a homography fits them exactly, but no camera sees 400 mm as 300."""
    for seed in range(8):
        rng = np.random.default_rng(seed)
        found = rectify(photo(rng, camera(rng), CORNERS, typed=[*CORNERS[1:], CORNERS[0]]))
        assert "swapped" in found.messages[0]


def test_two_swapped_of_eight_are_named():
    places = [*CORNERS, *SIDES]
    for seed in range(4):
        rng = np.random.default_rng(seed)
        typed = list(places)
        typed[4], typed[5] = typed[5], typed[4]
        assert rectify(photo(rng, camera(rng), places, typed=typed)).swapped == ((4, 5),)


def changed(base, number, **values):
    marks = [mark.model_copy(update=values) if k == number else mark for k, mark in enumerate(base.marks)]
    return base.model_copy(update={"marks": tuple(marks)})


def test_a_mark_typed_wrong_says_how_far_it_is_off_by_the_others():
    """Typed 80 mm too far right of eight: the others, which are right, put it 80 mm away, whatever it does to all."""
    rng = np.random.default_rng(12)
    found = rectify(changed(photo(rng, camera(rng, (0.02, 0.0)), CORNERS + SIDES), 2, x_mm=480.0))
    (words,) = [words for words in found.messages if "comes out" in words]
    assert 75 < float(words.split("comes out ")[1].split(" mm")[0]) < 85


def test_marks_in_inches_and_marks_outside_the_photo_are_said():
    rng = np.random.default_rng(13)
    base = photo(rng, camera(rng), CORNERS)
    inches = [m.model_copy(update={"x_mm": m.x_mm / 25.4, "y_mm": m.y_mm / 25.4}) for m in base.marks]
    found = rectify(base.model_copy(update={"marks": tuple(inches)}))
    assert "The marks span 16 × 12 mm, too little for a case: were they typed in inches" in found.messages[0]
    assert not any("for a case" in words for words in rectify(base).messages)
    for away in (1e6, -1e6):
        with pytest.raises(PhotoError, match="lies far outside the photo; mark it again"):
            rectify(changed(base, 2, x_px=away))
