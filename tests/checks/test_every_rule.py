"""Every rule has a case on either side of its limit, or a test that is named, and a reason why it has none there.

The cases are in two tables: ``test_limits``, and for what is first designed or laid ``test_slow_limits``.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from sketcher.findings import all_rules, home_of
from tests.checks import test_limits, test_slow_limits

TESTS = Path(__file__).parents[1]
IN_THE_TABLES = {case.rule for case in (*test_limits.CASES, *test_slow_limits.CASES)}
#: By the module of a rule: where it is tested instead, and why a length of 0.05 mm to either side says nothing of it.
ELSEWHERE = {
    "flow.rules": (("flow/test_failures.py", "flow/test_loop.py", "flow/test_anything.py", "flow/test_doubts.py",
                    "flow/test_ranges.py"), "flows, pressures and temperatures of a solved loop, not lengths"),
    "checks.flows": (("checks/test_rules.py", "flow/test_air.py", "proposing/test_impossible.py"),
                     "whether ends are joined; a volume of air"),
    "checks.hold_seal": (("checks/test_holds.py",), "shares of squeeze and fill; the joint's run"),
    "checks.hold_screws": (("checks/test_holds.py",), "forces and threads of the designed lid"),
    "checks.hold_screw_edge": (("checks/test_holds.py",), "in diameters of the screw"),
    "checks.hold_lid": (("checks/test_holds.py",), "stresses and pressures"),
    "checks.hold_sheet": (("strength/test_over_sheet.py",), "what the designed lid bears over its sheet's tolerance"),
    "checks.hold_webs": (("checks/test_webs.py", "strength/test_body_bending.py"),
                         "stress of a bent plate, a share of squeeze"),
    "checks.hold_sag": (("checks/test_sag.py",), "goes with the fourth power of a length"),
    "checks.unlikely_sizes": (("checks/test_unlikely.py",), "usual sizes, each on both sides of its bound there"),
    "checks.connected": (("checks/test_unlikely.py",), "what ports are for, and figures of fittings and tubes"),
    "checks.filling": (("checks/test_unlikely.py",), "heights in the loop, each on both sides of its bound there"),
    "checks.device_figures": (("checks/test_unlikely.py",), "volumes, curves and heat of one device"),
    "checks.as_measured": (("checks/test_unlikely.py",), "what is drawn against what was read"),
    "checks.contradictions": (("checks/test_contradictions.py", "checks/test_unlikely.py"),
                              "figures of one thing against each other"),
    "checks.hold_life": (("checks/test_holds.py",), "materials, coolant, air, filling and draining"),
    "checks.measured": (("checks/test_measured.py",), "chances and readings"),
    "checks.sure": (("checks/test_sure.py", "sureness/test_touching.py", "survey/test_ties.py"), "chances and ties"),
    "checks.tube_rules": (("tubes/test_rules.py", "checks/test_quick.py"), "names, angles, stresses"),
    "checks.fastened": (("checks/test_fastened.py",), "side, size and thread: a name, no length"),
    "checks.mounting": (("checks/test_mounting.py", "checks/test_unlikely.py"), "how many screws there are, a number"),
    "checks.in_step": (("checks/test_fixes.py",), "in step or not, to a hundredth"),
    "checks.dimension_ends": (("geometry/test_measured_spans.py",), "whether what was measured is still there"),
    "checks.made": (("checks/test_rules.py", "checks/test_fastened.py"), "names, outlines and standard thicknesses"),
    "checks.port_bores": (("checks/test_limits.py",), "a share of two sections, counted in squares there"),
    "checks.running": (("checks/test_unchecked.py", "checks/test_rules.py"), "rules that fail, limits of no rule"),
}  # fmt: skip


def test_every_rule_has_a_case_or_a_test_of_its_own_and_a_reason() -> None:
    in_the_table = IN_THE_TABLES
    without = []
    for rule in all_rules():
        if rule.name in in_the_table:
            continue
        files, reason = ELSEWHERE.get(home_of(rule.name).removeprefix("sketcher."), ((), ""))
        texts = [(TESTS / file).read_text(encoding="utf-8") for file in files]
        if not reason or not any(f'"{rule.name}"' in text or f"-{rule.name}" in text for text in texts):
            without.append(f"{rule.name} ({home_of(rule.name)})")
    assert without == []


LENGTHS = ("walls", "plate_edges", "floors", "space", "fittings", "hold_height", "fits", "faces")


@pytest.mark.parametrize("module", LENGTHS)
def test_a_rule_that_measures_a_length_has_its_case_in_the_table(module: str) -> None:
    of_module = {rule.name for rule in all_rules() if home_of(rule.name) == f"sketcher.checks.{module}"}
    assert of_module
    assert of_module <= IN_THE_TABLES


#: Rules in mm that a table has no case for, and why.
NO_CASE = {
    **dict.fromkeys(
        (
            "case-size",
            "case-height",
            "obstacle-size",
            "board-size",
            "fan-size",
            "block-height",
            "tube-length",
            "recess-slight",
            "hole-off-board",
            "held-away",
            "floor-item-outside",
            "ports-on-device",
            "survey-not-drawn",
            "fitting-bore",
            "port-heading",
            "drain-high",
            "fill-low",
            "pump-dry",
            "mount-side",
            "fitting-straight",
            "groove-wall",
        ),
        "a usual size, or figures of one thing: test_unlikely has each on both sides of its bound",
    ),
    "plate-sag": "goes with the fourth power of a length: test_sag has it half a millimetre to either side of that",
    "curve-doubted": "a length of hole that loses as much as a block, from a curve",
    "follows-out-of-step": "its limit is a hundredth: what follows is in step or not",
    "stock-thickness": "on the shop's list or not",
    "tie-moved": "a chance, in standard deviations of the survey",
}


def test_every_rule_in_millimetres_has_a_case_in_a_table_or_a_reason() -> None:
    lengths = {rule.name for rule in all_rules() if rule.unit == "mm"}
    assert lengths - IN_THE_TABLES == set(NO_CASE)
    assert all(NO_CASE.values())
