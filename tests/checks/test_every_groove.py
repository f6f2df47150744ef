"""The groove against everything that is cut, against an exact measure of its own.

The groove is what the design's centreline sweeps, with the gland's width and depth; everything else is as
``test_every_pair`` cuts it, drill points and the clearance of lid screws included. Asked is what the seal's wall asks:
no item nearer to the groove than the wall without a finding that names it, and no finding about one that is farther.
``--long`` does it for 60 plates.
"""

import math
from functools import lru_cache

import numpy as np
import pytest
import shapely

from sketcher.checks import run
from sketcher.checks.hold_seal import design_of, the_groove
from sketcher.checks.scene import Scene
from sketcher.document import from_plain
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.strength.seal import UNDER_WALL_MM
from tests.checks.exact import Solid, between, swept
from tests.checks.plates import channel, found, measured, plate, rectangle
from tests.checks.test_every_pair import BODY, BORE, CELL, KEYS, KINDS, LID, TIP, TOP, Maker

#: The exact measure and the design's chords, mm: nearer to the wall than this nothing is asked.
LOOSE = 0.05
ACROSS, DOWN, STEP = 4, 4, CELL + 22
WIDTH, DEPTH = ACROSS * STEP + 40, DOWN * STEP + 40
#: A channel alone sits in every cell, and one of these beside it.
PARTNERS = (*KINDS, "lid screw", "insert")


class More(Maker):
    """Items that only the lid's joint asks for."""

    def partner(self, kind: str, id_: str, x: float, y: float) -> tuple[str, dict, list[Solid]]:
        item, solids = self.make(kind.replace(" ", "_"), id_, x, y)
        return KEYS.get(kind, KEYS["hole"]), item, solids


@lru_cache(maxsize=4)
def the_plate(seed: int) -> tuple[dict, dict[str, list[Solid]], set[str]]:
    """A document, what is cut for each item, and which are wet."""
    maker = More(seed)
    rng = maker.rng
    parts: dict[str, list[dict]] = {key: [] for key in KEYS.values()}
    cut: dict[str, list[Solid]] = {}
    wet: set[str] = set()
    for n in range(ACROSS * DOWN):
        x, y = 20 + STEP * (n % ACROSS + 0.5), 20 + STEP * (n // ACROSS + 0.5)
        kind = PARTNERS[(n + seed) % len(PARTNERS)]
        channel, cut[f"A{n}"] = maker.make("channel", f"A{n}", x, y)
        parts["channels"].append(channel)
        turn, far = rng.uniform(0, 2 * math.pi), rng.uniform(12, 26)
        key, item, cut[f"B{n}"] = maker.partner(kind, f"B{n}", x + far * math.cos(turn), y + far * math.sin(turn))
        parts[key].append(item)
        wet |= {f"A{n}"} | ({f"B{n}"} if kind in ("channel", "port") else set())
    for n, (at, inwards) in enumerate([((0.0, DEPTH / 2), 0.0), ((WIDTH, DEPTH / 2), 180.0), ((WIDTH / 2, 0.0), 90.0),
                                       ((WIDTH / 2, DEPTH), -90.0)]):  # fmt: skip
        # An edge port between two rows of cells, with a short channel: the groove passes over its bore.
        port, cut[f"E{n}"] = maker.edge_port(f"E{n}", np.array(at), inwards)
        parts["ports"].append(port)
        wet.add(f"E{n}")
        root = np.array(at) + (port["thread_depth_mm"] + 5) * np.array(
            [math.cos(math.radians(port["heading_deg"])), math.sin(math.radians(port["heading_deg"]))])  # fmt: skip
        way = np.array([math.cos(math.radians(inwards)), math.sin(math.radians(inwards))])
        end, width, depth = root + 10 * way, rng.uniform(4, 9), rng.uniform(6, 14)
        heights = (LID, LID + depth) if maker.lid_below else (BODY - depth, BODY)
        parts["channels"].append({"id": f"F{n}", "start": f"E{n}", "points": [{"x_mm": end[0], "y_mm": end[1]}],
                                  "width_mm": width, "depth_mm": depth, "bend_radius_mm": 0})  # fmt: skip
        cut[f"F{n}"] = [swept(np.array([root, end]), *heights, width / 2)]
        wet.add(f"F{n}")
    area = rectangle(WIDTH / 2, DEPTH / 2, WIDTH, DEPTH)
    seal = {"wall_mm": rng.uniform(1.0, 3.0), "kind": "cord" if seed % 3 else "gasket", "cord_mm": rng.choice([2, 3])}
    plain = {
        "floor": {"outline": rectangle(WIDTH / 2, DEPTH / 2, 2 * WIDTH, 2 * DEPTH)},
        "plate": {"outline": area, "body_thickness_mm": BODY, "lid_thickness_mm": LID,
                  "lid_face": "bottom" if maker.lid_below else "top"},
        "seal": seal, "shop": {"least_wall_mm": 0.5}, **parts,
    }  # fmt: skip
    return plain, cut, wet


def _near(ring: shapely.LinearRing, x: float, y: float) -> list[np.ndarray]:
    """The pieces of a ring within 35 mm of a place: no item here reaches farther."""
    line = shapely.line_merge(shapely.intersection(ring, shapely.Point(x, y).buffer(35)))
    return [shapely.get_coordinates(part) for part in shapely.get_parts(line) if part.length > 0]


def differences(seed: int) -> tuple[int, int, list[str]]:
    """How many items were held against the groove, how many were too near, and what differs."""
    plain, cut, wet = the_plate(seed)
    document = from_plain(plain)
    scene = Scene(build(document), limits_of(document))
    findings = list(the_groove(scene))
    design = design_of(scene)
    assert design.room is not None
    assert design.problem == ""
    told = {finding.items[-1] for finding in findings if finding.rule in ("seal-wall", "seal-under", "seal-bend")}
    half, low, high = design.room.width_mm / 2, design.low_mm, design.high_mm
    rings = [ring for part in design.plan.sealed.geoms for ring in (part.exterior, *part.interiors)]
    count, near, wrong = 0, 0, []
    for id_, solids in cut.items():
        x, y = solids[0].seeds[:, :2].mean(axis=0)
        beside = [swept(line, low, high, half) for ring in rings for line in _near(ring, x, y)]
        wall = design.room.wall_mm if id_ in wet else document.seal.wall_mm
        true = min((between([groove], solids) for groove in beside), default=math.inf)
        least = min(wall, UNDER_WALL_MM) if id_.startswith("E") else wall
        count, near = count + 1, near + (true < least)
        if abs(true - least) > LOOSE and (true < least) != (id_ in told):
            wrong.append(f"seed {seed}: {id_} is {true:.3f} from the groove, {least:.3f} asked, told {id_ in told}")
    return count, near, wrong


@pytest.mark.parametrize("seed", [1])
def test_everything_is_held_against_the_groove(seed: int) -> None:
    count, near, wrong = differences(seed)
    assert count == 2 * ACROSS * DOWN + 8
    assert near > 1
    assert wrong == []


@pytest.mark.long
def test_everything_is_held_against_the_groove_on_sixty_plates() -> None:
    rows = [differences(seed) for seed in range(100, 160)]
    assert [line for _, _, wrong in rows for line in wrong] == []


#: From the joint at 6: a 2 mm cord's groove is 1.5 deep and 2.8 wide, its middle 2 + 1.4 beside the channel's 4.
ON_THE_LINE = 150 + 4 + 2 + 1.4
SHALLOW = channel("C1", (100, 150), (200, 150), depth_mm=1)
MEASURED = {"body_thickness_is": "measured", "lid_thickness_is": "measured"}


@pytest.mark.parametrize("end", ["point", "flat"])
def test_a_drill_point_counts_under_the_groove(end: str) -> None:
    """An M4 tap drill, 3.3 (ISO 2306), ends 2.3 over the groove; its point of 118 degrees is 1.65 / tan 59 long."""
    hole = {"id": "H1", "x_mm": 150, "y_mm": ON_THE_LINE, "kind": "tapped", "face": "top", "drill_end": end,
            "depth_mm": TOP - LID - 1.5 - 2.3}  # fmt: skip
    told = measured(plate(holes=[hole], channels=[SHALLOW], plate=MEASURED), "seal-under")
    left = 2.3 - 1.65 / math.tan(math.radians(59))
    assert [(f.items[-1], f.value) for f in told] == (
        [("H1", pytest.approx(left, abs=0.002))] if end == "point" else []
    )


@pytest.mark.parametrize(("left", "told"), [(1.95, True), (2.05, False)])
def test_a_port_that_ends_over_the_groove_keeps_the_whole_wall(left: float, told: bool) -> None:
    """The seal's 2 mm, not an edge port's 1.5; the point of an 11.8 drill is 5.9 / tan 59 long (ISO 228-1, G 1/4)."""
    port = {"id": "P1", "x_mm": 150, "y_mm": ON_THE_LINE, "face": "top", "drill_end": "point",
            "thread_depth_mm": TOP - LID - 1.5 - left - BORE * TIP}  # fmt: skip
    told_of = measured(plate(ports=[port], channels=[SHALLOW], plate=MEASURED), "seal-under")
    assert [(f.items, f.value, f.limit) for f in told_of] == (
        [(("C1", "P1"), pytest.approx(left, abs=0.002), 2.0)] if told else []
    )


@pytest.mark.parametrize(("body", "told"), [(4.33, True), (4.43, False)])
def test_the_floor_under_a_groove_holds_for_the_thinnest_sheet(body: float, told: bool) -> None:
    """t - (0.4 + 0.1 t) (ISO 7823-1) less 1.5 and 0.05 of groove leaves the floor of 2 from t = 3.95 / 0.9 = 4.389."""
    document = plate(channels=[SHALLOW], plate={"body_thickness_mm": body, "lid_thickness_is": "measured"},
                     limits={"depth-under-channel": 0.5})  # fmt: skip
    (finding,) = found(document, "sheet-thickness") or [None]
    assert (finding is not None) == told
    if finding is not None:
        assert finding.value == pytest.approx(0.9 * body - 0.4 - 1.55, abs=1e-9)
        assert finding.at is not None


@pytest.mark.parametrize(("depth", "told"), [(14.05, False), (14.15, True)])
def test_a_pocket_under_the_groove_holds_for_the_thinnest_sheet(depth: float, told: bool) -> None:
    """20 mm may be 17.6 (ISO 7823-1): 17.6 - 1.5 of groove leave the seal's wall of 2 beside a pocket of 14.1."""
    pocket = {"id": "K1", "outline": rectangle(150, ON_THE_LINE, 20, 4, 1), "depth_mm": depth}
    document = plate(channels=[SHALLOW], pockets=[pocket], plate={"lid_thickness_is": "measured"},
                     limits={"wall-channel-pocket": 0.1})  # fmt: skip
    rows = [f for f in run(document) if f.rule == "sheet-thickness" and "K1" in f.items]
    assert [f.value for f in rows] == ([pytest.approx(17.6 - 1.5 - depth, abs=1e-9)] if told else [])
    assert not found(document, "seal-under")
