"""Each rule finds its slip, with the right measure, and keeps quiet where there is none."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from sketcher import findings
from sketcher.checks import all_rules, counts, fits, flows, made, run, running, walls
from sketcher.document import Document, from_plain, to_plain
from sketcher.document.remembered import forget_all
from sketcher.flow import RULES
from tests.checks.plates import channel, circle, found, measured, plate, rectangle

P = {"id": "P1", "x_mm": 100, "y_mm": 150}
Q = {"id": "P2", "x_mm": 200, "y_mm": 150}


def port(id_: str, x: float, y: float, **more):
    return {"id": id_, "x_mm": x, "y_mm": y, **more}


#: (rule, document, items, value): the value is worked out by hand from the numbers in the document.
SLIPS = [
    # Two straight channels 10 apart, 8 wide: 2 mm of wall.
    (
        "wall-channel-channel",
        plate(channels=[channel("C1", (100, 150), (200, 150)), channel("C2", (100, 160), (200, 160))]),
        {"C1", "C2"},
        2.0,
    ),
    # A hole of 4.5 at 8 from the centreline of a channel 8 wide: 8 - 4 - 2.25.
    (
        "wall-channel-hole",
        plate(channels=[channel("C1", (100, 150), (200, 150))], holes=[port("H1", 150, 158)]),
        {"C1", "H1"},
        1.75,
    ),
    # A cutout's side at y = 156, the channel's at 154.
    (
        "wall-channel-cutout",
        plate(
            channels=[channel("C1", (100, 150), (200, 150))],
            cutouts=[{"id": "K1", "outline": rectangle(150, 161, 20, 10)}],
        ),
        {"C1", "K1"},
        2.0,
    ),
    # A pocket 10 deep from the top leaves 26 - 10 - (6 + 8) = 2 above the channel that it lies over.
    (
        "wall-channel-pocket",
        plate(
            channels=[channel("C1", (100, 150), (200, 150))],
            pockets=[{"id": "R1", "outline": rectangle(150, 150, 20, 20), "depth_mm": 10}],
        ),
        {"C1", "R1"},
        2.0,
    ),
    # A G1/4 thread has 13.157 mm outside (ISO 228-1): 12 - 4 - 6.5785.
    (
        "wall-channel-port",
        plate(
            plate={"lid_thickness_mm": 2},
            ports=[port("P1", 150, 162, thread_depth_mm=16)],
            channels=[channel("C1", (100, 150), (200, 150), depth_mm=12)],
        ),
        {"C1", "P1"},
        12 - 4 - 13.157 / 2,
    ),
    ("wall-port-port", plate(ports=[port("P1", 100, 150), port("P2", 115, 150)]), {"P1", "P2"}, 15 - 13.157),
    (
        "wall-port-hole",
        plate(ports=[port("P1", 100, 150)], holes=[port("H1", 110, 150)]),
        {"P1", "H1"},
        10 - 13.157 / 2 - 2.25,
    ),
    (
        "wall-cutout-cutout",
        plate(cutouts=[{"id": "K1", "outline": circle(100, 150, 20)}, {"id": "K2", "outline": circle(121, 150, 20)}]),
        {"K1", "K2"},
        1.0,
    ),
    # The channel's round end reaches 4 mm beyond the end of its centreline, which is 6 mm from the edge.
    ("wall-channel-edge", plate(channels=[channel("C1", (56, 150), (200, 150))]), {"C1"}, 2.0),
    ("wall-hole-edge", plate(holes=[port("H1", 54, 150)]), {"H1"}, 4 - 2.25),
    ("wall-cutout-edge", plate(cutouts=[{"id": "K1", "outline": circle(61, 150, 20)}]), {"K1"}, 1.0),
    # Legs 10 apart, 8 wide.
    (
        "wall-channel-itself",
        plate(channels=[channel("C1", (100, 150), (200, 150), (200, 160), (100, 160), bend_radius_mm=5)]),
        {"C1"},
        2.0,
    ),
    ("depth-under-channel", plate(channels=[channel("C1", (100, 150), (200, 150), depth_mm=18)]), {"C1"}, 2.0),
    # The 11.8 mm drill's 118 degree point goes on 5.9 / tan 59 deg beyond the thread.
    (
        "depth-under-thread",
        plate(ports=[port("P1", 100, 150, thread_depth_mm=19)]),
        {"P1"},
        1.0 - 5.9 / math.tan(math.radians(59)),
    ),
    ("depth-under-thread", plate(ports=[port("P1", 100, 150, thread_depth_mm=19, drill_end="flat")]), {"P1"}, 1.0),
    (
        "thread-reaches-channel",
        plate(
            ports=[port("P1", 100, 150, thread_depth_mm=14)],
            channels=[channel("C1", (200, 150), start="P1", depth_mm=8)],
        ),
        {"P1"},
        -2.0,
    ),
    ("thread-in-lid", plate(ports=[port("P1", 100, 150, face="bottom", thread_depth_mm=8)]), {"P1"}, -2.0),
    # A G1/4 in the edge of a 16 mm body: (16 - 13.157) / 2.
    (
        "edge-port-thickness",
        plate(plate={"body_thickness_mm": 16}, ports=[port("P1", 50, 150, face="edge")]),
        {"P1"},
        (16 - 13.157) / 2,
    ),
    ("fittings-touch", plate(ports=[port("P1", 100, 150), port("P2", 119, 150)]), {"P1", "P2"}, 0.0),
    ("spanner-room", plate(ports=[port("P1", 100, 150), port("P2", 125, 150)]), {"P1", "P2"}, 5.0),
    ("same-place", plate(holes=[port("H1", 100, 150), port("H2", 100.02, 150)]), {"H1", "H2"}, 0.02),
    ("outside-plate", plate(holes=[port("H1", 20, 150)]), {"H1"}, -30 - 2.25),
    ("plate-outside-floor", plate(plate={"outline": rectangle(260, 150, 300, 200)}), set(), 10.0),
    (
        "plate-over-obstacle",
        plate(
            floor={
                "outline": rectangle(200, 150, 400, 300),
                "obstacles": [{"id": "O1", "outline": circle(100, 100, 8), "height_mm": 5}],
            }
        ),
        {"O1"},
        -5.0,
    ),
    (
        "keep-out-entered",
        plate(ports=[P], keep_outs=[{"id": "Z1", "outline": rectangle(105, 150, 20, 20)}]),
        {"P1", "Z1"},
        None,
    ),
    (
        "drop-out-of-line",
        plate(
            ports=[{**P, "serves": "D1.in"}],
            devices=[{"id": "D1", "kind": "block", "x_mm": 106, "y_mm": 158, "ports": [{"id": "in"}]}],
        ),
        {"P1", "D1"},
        10.0,
    ),
    ("channel-end-open", plate(ports=[P], channels=[channel("C1", (200, 150), start="P1")]), {"C1"}, None),
    ("port-unreached", plate(ports=[P]), {"P1"}, None),
    ("connection-open", plate(ports=[P, Q], loop={"connections": [["P1", "P2"]]}), {"P1", "P2"}, None),
    (
        "branch-lonely",
        plate(ports=[P], branches=[port("J1", 150, 150)], channels=[channel("C1", start="P1", end="J1")]),
        {"J1"},
        None,
    ),
    ("cutter-channel", plate(channels=[channel("C1", (100, 150), (200, 150), width_mm=2)]), {"C1"}, 2.0),
    # The shop's cutters reach three diameters: 12 deep with a 4 mm cutter.
    ("cutter-channel", plate(channels=[channel("C1", (100, 150), (200, 150), width_mm=4, depth_mm=15)]), {"C1"}, 15.0),
    (
        "bend-inside",
        plate(channels=[channel("C1", (100, 150), (200, 150), (200, 200), bend_radius_mm=4.5)]),
        {"C1"},
        0.5,
    ),
    # A right angle with 20 mm on one side has room for a radius of 20.
    (
        "bend-no-room",
        plate(channels=[channel("C1", (100, 150), (200, 150), (200, 170), bend_radius_mm=25)]),
        {"C1"},
        20.0,
    ),
    ("cutter-corner", plate(cutouts=[{"id": "K1", "outline": rectangle(150, 150, 20, 20, 1)}]), {"K1"}, 1.0),
    (
        "outline-crosses",
        plate(
            cutouts=[
                {
                    "id": "K1",
                    "outline": {
                        "shape": "polygon",
                        "vertices": [
                            {"x_mm": x, "y_mm": y} for x, y in ((100, 100), (120, 120), (120, 100), (100, 120))
                        ],
                    },
                }
            ]
        ),
        {"K1"},
        None,
    ),
    ("name-unknown", plate(ports=[{**P, "thread": "G9/9"}]), {"P1"}, None),
    (
        "name-unknown",
        plate(
            ports=[P],
            devices=[
                {
                    "id": "D1",
                    "kind": "block",
                    "x_mm": 90,
                    "y_mm": 90,
                    "z_mm": 80,
                    "ports": [{"id": "in", "thread": "G9/9"}],
                }
            ],
        ),
        {"D1"},
        None,
    ),
    ("stock-thickness", plate(plate={"body_thickness_mm": 19}), set(), 19.0),
    # 300 x 200 on a sheet of 400 x 190, whichever way it is turned.
    ("sheet-size", plate(shop={"sheet_width_mm": 190, "sheet_depth_mm": 400}), set(), 200.0),
    # The obstacle's edge 20 x 20 grown by 2 is 24 x 24 about (150, 150); the cutout stands 3 mm to the right of that.
    (
        "follows-out-of-step",
        plate(
            floor={"obstacles": [{"id": "O1", "outline": circle(150, 150, 20), "height_mm": 5}]},
            cutouts=[{"id": "K1", "outline": circle(153, 150, 24), "follows": {"item": "O1", "clearance_mm": 2}}],
        ),
        {"K1", "O1"},
        3.0,
    ),
    ("limit-unknown", plate(limits={"wall-chanel-edge": 3}), {"wall-chanel-edge"}, None),
]


@pytest.mark.parametrize(("rule", "document", "items", "value"), SLIPS, ids=[slip[0] for slip in SLIPS])
def test_the_slip_is_found_and_measured(rule: str, document: Document, items: set[str], value: float | None) -> None:
    hits = [finding for finding in measured(document, rule) if set(finding.items) == items]
    assert len(hits) == 1
    finding = hits[0]
    if value is None:
        assert finding.value is None
    else:
        assert finding.value == pytest.approx(value, abs=0.02)
    assert finding.message.endswith(".")
    assert finding.remedy


#: These are measured by the very code that another pair of parts goes through above.
SAME_CODE = {
    "wall-port-cutout",
    "wall-port-pocket",
    "wall-cutout-pocket",
    "wall-cutout-hole",
    "wall-pocket-pocket",
    "wall-pocket-hole",
    "wall-hole-hole",
}


def test_every_rule_of_the_drawing_has_a_slip_here() -> None:
    modules = {module.__name__ for module in (fits, flows, made, running, walls)}
    rules = {rule.name for rule in all_rules() if findings.home_of(rule.name) in modules}
    # No slip of a plate: test_unchecked.py; the loop's own: tests/flow/test_air.py.
    elsewhere = {name for name in rules if name.startswith("unchecked-")} | {"air-trapped"}
    assert rules - {slip[0] for slip in SLIPS} - set(RULES) - elsewhere == SAME_CODE


def test_what_the_loop_says_stands_among_the_findings_with_its_place() -> None:
    """A pump joined at one side only; the rule itself is tested with the flow."""
    document = plate(
        ports=[{**P, "serves": "PUMP.out"}],
        devices=[
            {
                "id": "PUMP",
                "kind": "pump",
                "x_mm": 100,
                "y_mm": 150,
                "ports": [{"id": "out", "flow": "out"}, {"id": "in", "flow": "in"}],
                "curve": [{"flow_l_min": 0, "pressure_kpa": 30}, {"flow_l_min": 10, "pressure_kpa": 0}],
            }
        ],
    )
    (finding,) = found(document, "device-unconnected")
    assert finding.at == (100, 150)

    # A look that solves no loop tells what is known of the same one.
    def unjoined(**more: bool) -> bool:
        return any(other.rule == "device-unconnected" for other in run(document, quick=True, **more))

    assert unjoined(loop=False)
    forget_all()
    assert not unjoined(loop=False)
    assert unjoined()


def test_a_sound_plate_has_no_findings() -> None:
    document = plate(
        ports=[P, Q],
        channels=[channel("C1", start="P1", end="P2")],
        holes=[port("H1", 60, 60), port("H2", 340, 60)],
        cutouts=[{"id": "K1", "outline": rectangle(150, 200, 40, 20, 5)}],
    )
    assert [finding for finding in run(document) if finding.rule.startswith(("wall", "depth", "outside"))] == []


@given(
    x=st.floats(min_value=60, max_value=340),
    y=st.floats(min_value=60, max_value=240),
    big=st.floats(min_value=3, max_value=30),
    small=st.floats(min_value=3, max_value=30),
)
def test_a_wall_between_two_round_cutouts_is_the_closed_forms(x, y, big, small) -> None:
    distance = math.hypot(x - 200, y - 150)
    wall = distance - (big + small) / 2
    assume(abs(wall - 3.0) > 0.03)
    document = plate(
        cutouts=[{"id": "K1", "outline": circle(200, 150, big)}, {"id": "K2", "outline": circle(x, y, small)}]
    )
    hits = found(document, "wall-cutout-cutout")
    assert bool(hits) == (wall < 3.0)
    if hits:
        assert hits[0].value == pytest.approx(max(wall, 0), abs=0.025)
        assert hits[0].level == ("error" if hits[0].value == 0 else "warning")


@given(turn=st.floats(min_value=0, max_value=360), dx=st.floats(-40, 40), dy=st.floats(-20, 20))
def test_findings_turn_and_move_with_the_plate(turn, dx, dy) -> None:
    """The same plate elsewhere on the floor, turned: the same walls."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def at(x: float, y: float) -> tuple[float, float]:
        return (200 + dx + c * (x - 200) - s * (y - 150), 150 + dy + s * (x - 200) + c * (y - 150))

    def put(x: float, y: float) -> dict[str, float]:
        u, v = at(x, y)
        return {"x_mm": u, "y_mm": v}

    document = plate(
        floor={"outline": circle(200, 150, 1000)},
        plate={"outline": {**rectangle(200, 150, 300, 200), **put(200, 150), "turn_deg": turn}},
        channels=[
            {"id": "C1", "points": [put(100, 150), put(200, 150)], "width_mm": 8, "depth_mm": 8},
            {"id": "C2", "points": [put(100, 160), put(180, 160)], "width_mm": 8, "depth_mm": 8},
        ],
        holes=[{"id": "H1", **put(54, 150)}],
    )
    values = {finding.rule: finding.value for finding in run(document, quick=True) if finding.rule.startswith("wall-")}
    assert values["wall-channel-channel"] == pytest.approx(2.0, abs=0.02)
    assert values["wall-hole-edge"] == pytest.approx(1.75, abs=0.02)


def test_every_fix_does_away_with_its_finding() -> None:
    fixed = 0
    for rule, document, _, _ in SLIPS:
        for finding in found(document, rule):
            if finding.fix is None:
                continue
            plain = to_plain(document)
            for change in finding.fix.changes:
                place = plain
                *parents, last = change.pointer.strip("/").split("/")
                for part in parents:
                    place = place[int(part)] if isinstance(place, list) else place[part]
                place[last] = change.value
            mended = from_plain(plain)
            assert [other for other in found(mended, rule) if other.items == finding.items] == []
            fixed += 1
    assert fixed >= 8


def test_a_limit_in_the_document_goes_before_the_default() -> None:
    parts = {"channels": [channel("C1", (100, 150), (200, 150)), channel("C2", (100, 160), (200, 160))]}
    assert found(plate(**parts), "wall-channel-channel")
    assert not found(plate(**parts, limits={"wall-channel-channel": 1.5}), "wall-channel-channel")


def test_an_accepted_finding_is_kept_with_its_reason_and_not_counted() -> None:
    parts = {"ports": [P]}
    before = run(plate(**parts))
    accepted = [{"rule": "port-unreached", "items": ["P1"], "reason": "a spare for later"}]
    after = run(plate(**parts, accepted=accepted))
    assert counts(before)["error"] == counts(after)["error"] + 1
    assert [f.accepted for f in after if f.rule == "port-unreached"] == ["a spare for later"]


def test_channels_that_meet_at_a_branch_need_no_wall_there() -> None:
    document = plate(
        branches=[port("J1", 200, 150)],
        channels=[
            channel("C1", (100, 150), end="J1"),
            channel("C2", (300, 150), start="J1"),
            channel("C3", (200, 220), start="J1"),
        ],
    )
    assert not found(document, "wall-channel-channel")


def test_channels_that_leave_a_branch_side_by_side_do() -> None:
    document = plate(
        branches=[port("J1", 100, 150)],
        channels=[channel("C1", (300, 150), start="J1"), channel("C2", (300, 160), start="J1")],
    )
    assert found(document, "wall-channel-channel")


def test_a_shop_with_thicker_walls_raises_the_defaults_and_not_the_documents_own_limits() -> None:
    parts = {"channels": [channel("C1", (100, 150), (200, 150)), channel("C2", (100, 162), (200, 162))]}
    assert not found(plate(**parts), "wall-channel-channel")
    (finding,) = found(plate(**parts, shop={"least_wall_mm": 5}), "wall-channel-channel")
    assert finding.limit == 5
    own = plate(**parts, shop={"least_wall_mm": 5}, limits={"wall-channel-channel": 2})
    assert not found(own, "wall-channel-channel")
