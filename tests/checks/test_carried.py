"""What is carried, against what carries it: random bodies against the exact measure, and what is silent.

The exact measure knows each solid's nearest point to any place (``tests/checks/exact``); that what is held may touch,
and may stand in what is hollow or in a board's parts, is this program's own rule.
"""

import math

from tests.checks.brute import frame_of
from tests.checks.exact import between, framed
from tests.checks.plates import found, plate
from tests.checks.test_every_body import Maker
from tests.checks.test_limits import box, hole


def test_held_things_against_their_holder_in_every_way_they_stand():
    """Ten pairs, one by the other: round, L-shaped and square, turned, rolled and on edge."""
    maker, devices, apart = Maker(11), [], {}
    for n in range(10):
        x, y = 60.0 * (n % 8) + 40, 60.0 * (n // 8) + 40
        _, holder, ours = maker.body(f"A{n}", x, y, 300, "D")
        way, far = maker.rng.uniform(0, 2 * math.pi), maker.rng.uniform(4, 22)
        _, held, (inside,) = maker.body(
            f"B{n}", far * math.cos(way), far * math.sin(way), maker.rng.uniform(-14, 14), "D"
        )
        devices += [holder, {**held, "held_by": f"A{n}"}]
        apart[n] = between(ours, [framed(*frame_of(holder), inside)])
    told = {tuple(sorted(f.items)) for f in found(plate(devices=devices), "bodies-overlap")}
    assert {n for n in apart if (f"A{n}", f"B{n}") in told} == {n for n, mm in apart.items() if mm < 1e-6}
    assert 2 <= sum(mm < 1e-6 for mm in apart.values()) <= 8


WITHIN = {"x_mm": 0, "y_mm": 0, "z_mm": 5}


def test_what_is_said_to_be_hollow_holds_things_within_it():
    for hollow, count in ((False, 1), (True, 0)):
        tray = box("D1", 100, 150, 60, hollow=hollow)
        document = plate(devices=[tray, {**box("D2", 0, 0, 5, (20, 20, 5)), **WITHIN, "held_by": "D1"}])
        assert len(found(document, "bodies-overlap")) == count
    # Hollow for what it holds alone: a stranger in it is told.
    document = plate(devices=[box("D1", 100, 150, 60, hollow=True), box("D2", 100, 150, 65, (20, 20, 5))])
    assert len(found(document, "bodies-overlap")) == 1


def test_its_fix_moves_what_is_held_just_off_in_its_holders_own_axes():
    """A box 5 high from 13 up in one 20 high that lies turned by 90 degrees: 7 up is the shortest way out."""
    document = plate(devices=[box("D1", 100, 150, 60, turn_deg=90), box("D2", 0, 0, 13, (20, 20, 20), held_by="D1")])
    (finding,) = found(document, "bodies-overlap")
    assert round(finding.value, 6) == -7
    (change,) = finding.fix.changes
    assert change.pointer == "/devices/1/z_mm"
    assert 20 < change.value < 20.02


def test_a_tube_does_not_run_through_the_device_that_it_goes_to_nor_through_what_holds_that():
    """A port on top of a device right over the plate's port, and the same port at the device's underside and side."""
    port = hole("P1", 100, 150, serves="D1.in")

    def told(*devices):
        blocked = found(plate(ports=[port], devices=devices), "tube-blocked")
        return [finding.items for finding in blocked]

    def device(u, w, **more):
        return box("D1", 100 - u, 150, 80, ports=[{"id": "in", "u_mm": u, "w_mm": w}], **more)

    assert told(device(0, 20)) == [("P1", "D1")]
    assert told(device(0, 15)) == [("P1", "D1")]  # sunk into its top
    assert told(device(0, 0)) == told(device(0, 8)) == []  # underneath, and sunk into its underside
    assert told(device(20, 10)) == told(device(20, 20)) == []  # along its side
    on_top = box("D1", 0, 0, 20, held_by="D2", ports=[{"id": "in"}])
    assert told(box("D2", 100, 150, 60), on_top) == [("P1", "D2")]
    assert told(box("D2", 130, 150, 60), {**on_top, "x_mm": -30}) == []
