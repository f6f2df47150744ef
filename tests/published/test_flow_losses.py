"""Bends, turns, section changes and tees against printed rows and the library ``fluids``."""

import fluids.fittings as handbook
import fluids.friction as friction_book
import numpy as np
import pytest

from sketcher.flow import losses, tees


@pytest.mark.parametrize(("radius", "multiple"), [(1.0, 20), (1.5, 14), (2.0, 12), (3.0, 12), (4.0, 14), (6.0, 17)])
def test_bends_against_cranes_table(radius, multiple):
    """Crane TP 410, A-29, 90° pipe bends: K in multiples of f_T, the bend's own length (π/2 r/d) included."""
    ours = losses.bend_friction_lengths(90, radius) + np.pi / 2 * radius
    assert ours == pytest.approx(multiple, rel=0.08)


@pytest.mark.parametrize("angle", [30, 45, 60, 120, 180])
@pytest.mark.parametrize("radius", [1.0, 1.5, 2.0, 3.0])
def test_bends_of_other_angles_against_crane(angle, radius):
    """Crane TP 410's rule for angles other than 90°, as ``fluids`` has it."""
    theirs = handbook.bend_rounded_Crane(Di=0.1, angle=angle, rc=0.1 * radius) / handbook.ft_Crane(0.1)
    ours = losses.bend_friction_lengths(angle, radius) + np.radians(angle) * radius
    assert ours == pytest.approx(theirs, rel=0.20)


@pytest.mark.parametrize(("angle", "printed"), [(20, 0.055), (30, 0.1), (40, 0.2), (50, 0.35), (60, 0.5), (70, 0.7),
                                                (80, 0.9), (90, 1.1), (120, 1.5)])  # fmt: skip
def test_mitres_against_a_printed_table(angle, printed):
    """Blevins, Applied Fluid Dynamics Handbook 1984, mitre bends at Re 2e5 (the rows as ``fluids`` carries them).

    Handbooks disagree by a third between 20 and 40° and past 90°.
    """
    assert losses.mitre(angle) == pytest.approx(printed, rel=0.36, abs=0.06)
    if 45 <= angle <= 90:
        assert losses.mitre(angle) == pytest.approx(printed, rel=0.10)


@pytest.mark.parametrize("angle", [10.0, 45.0, 90.0, 150.0])
def test_mitres_against_rennels(angle):
    assert losses.mitre(angle) == pytest.approx(handbook.bend_miter(angle=angle, method="Rennels"), rel=1e-9)


def test_low_reynolds_against_hooper():
    assert losses.low_reynolds(90) == handbook.Hooper["Elbow, 90°, Mitered (R/D = 1.5), 1 weld (90° angle)"][0]
    assert losses.low_reynolds(45) == handbook.Hooper["Elbow, 45°, Mitered (R/D=1.5), 1 weld (45° angle)"][0]
    assert handbook.Hooper["Tee, Through, Flanged or welded"][0] == losses.LOW_RUN
    assert handbook.Hooper["Elbow, Elbow, Stub-in type branch"][0] == losses.LOW_BRANCH


@pytest.mark.parametrize("ratio", [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9])
def test_sudden_changes(ratio):
    """Borda and Carnot exactly; the contraction between Crane's and Rennels's formulas or within 0.08 of them."""
    d1, d2 = ratio**0.5, 1.0
    assert losses.sudden_expansion(ratio) == pytest.approx(handbook.diffuser_sharp(Di1=d1, Di2=d2), rel=1e-9)
    crane = handbook.contraction_sharp(Di1=d2, Di2=d1, method="Crane")
    rennels = handbook.contraction_sharp(Di1=d2, Di2=d1, method="Rennels")
    assert crane - 1e-9 <= losses.sudden_contraction(ratio) <= max(crane, rennels) + 0.08


@pytest.mark.parametrize(
    ("ratio", "printed"), [(0.0, 0.50), (0.2, 0.42), (0.4, 0.34), (0.6, 0.25), (0.8, 0.15), (1.0, 0.0)]
)
def test_contraction_against_a_printed_table(ratio, printed):
    """Idelchik, diagram for sudden contraction at Re above 10⁴ (rows from memory, printed to two digits)."""
    assert losses.sudden_contraction(ratio) == pytest.approx(printed, abs=0.006)


@pytest.mark.parametrize("angle", [10.0, 30.0, 44.9, 60.0, 118.0, 180.0])
@pytest.mark.parametrize("ratio", [0.2, 0.5, 0.8])
def test_gradual_changes_against_crane(ratio, angle):
    """``fluids`` refers Crane's contraction to the smaller section."""
    d1 = ratio**0.5
    theirs = handbook.contraction_conical(Di1=1.0, Di2=d1, angle=angle, method="Crane")
    assert losses.gradual_contraction(ratio, angle) == pytest.approx(theirs, rel=1e-6)
    theirs = handbook.diffuser_conical(Di1=d1, Di2=1.0, angle=angle, method="Crane")
    assert losses.gradual_expansion(ratio, angle) == pytest.approx(theirs, rel=1e-6)


def test_diffusers_against_idelchiks_table():
    """Idelchik's table of conical diffusers in a line, as ``fluids`` carries it: Crane's formula within 0.25 of it."""
    angles = handbook.diffuser_conical_Idelchik_angles
    for ratio, row in zip(
        handbook.diffuser_conical_Idelchik_A_ratios[1:], handbook.diffuser_conical_Idelchik_data[1:], strict=True
    ):
        for angle, printed in zip(angles, row, strict=True):
            assert losses.gradual_expansion(ratio, angle) == pytest.approx(printed, abs=0.25)


def test_tees_against_cranes_worked_examples():
    """Crane TP 410, examples 7-35 and 7-36: joining square tee, 1135 and 380 l/min; 45° dividing, 1515 and 950."""
    q = 380 / (1135 + 380)
    assert tees.joining_run(q, 1.0) == pytest.approx(0.3258, abs=0.001)
    assert tees.joining_branch(q, 1.0) == pytest.approx(-0.0403, abs=0.001)
    q = 950 / (1515 + 950)
    assert tees.dividing_run(q, 1.0) == pytest.approx(-0.0681, abs=0.001)
    assert tees.dividing_branch(q, 1.0, 45) == pytest.approx(0.4640, abs=0.001)


@pytest.mark.parametrize("q", [0.05, 0.2, 0.4, 0.5, 0.7, 0.95])
@pytest.mark.parametrize("sigma", [0.2, 0.4, 1.0])
@pytest.mark.parametrize("angle", [30.0, 45.0, 90.0])
def test_tees_against_fluids(q, sigma, angle):
    run, branch = 1.0, sigma**0.5
    flows = (1 - q, q)
    assert tees.joining_run(q, sigma, angle) == pytest.approx(
        handbook.K_run_converging_Crane(run, branch, *flows, angle), abs=1e-9
    )
    assert tees.joining_branch(q, sigma, angle) == pytest.approx(
        handbook.K_branch_converging_Crane(run, branch, *flows, angle), abs=1e-9
    )
    assert tees.dividing_run(q, sigma) == pytest.approx(
        handbook.K_run_diverging_Crane(run, branch, *flows, angle), abs=1e-9
    )
    assert tees.dividing_branch(q, sigma, angle) == pytest.approx(
        handbook.K_branch_diverging_Crane(run, branch, *flows, angle), abs=1e-9
    )


def test_a_dead_leg_feels_the_static_pressure_whichever_way_it_is_asked():
    """At no flow in the side leg its pressure is the run's static one: a velocity head below the total. Crane's
    dividing and joining formulas meet there within a tenth.
    """
    assert tees.dividing_branch(0.0, 1.0) == pytest.approx(1.0)
    assert -tees.joining_branch(0.0, 1.0) == pytest.approx(0.9)
    assert tees.dividing_run(0.0, 1.0) == tees.joining_run(0.0, 1.0) == 0.0


@pytest.mark.parametrize(
    ("q", "printed"), [(0.1, 1.73), (0.2, 1.52), (0.4, 1.28), (0.5, 1.25), (0.6, 1.28), (0.8, 1.52), (1.0, 2.0)]
)
def test_opposed_joining_against_levin(q, printed):
    """Levin, in Idelchik, Handbook of Hydraulic Resistance, 3rd edition, p. 471: symmetrical joining tee of equal legs,
    1 + 1 + 3 (q² - q). The row for a tee with a partition would give 1.01 at q = 0.1.
    """
    assert tees.opposed_joining(q, 1.0) == pytest.approx(printed, abs=0.006)


@pytest.mark.parametrize(("q", "printed"), [(0.2, 1.09), (0.4, 0.69), (0.5, 0.69), (0.8, 0.84), (1.0, 1.10)])
def test_the_low_reading_of_a_joining_tee_is_idelchiks_factor(q, printed):
    """The same row times A as public code after Idelchik, p. 471, has it; printed to two digits."""
    assert tees.opposed_joining(q, 1.0, "low") == pytest.approx(printed, abs=0.012)


def test_a_joining_tee_whose_other_arm_is_dead_is_about_a_mitre():
    """At q = 1 the tee is a sharp elbow with a dead end beside it: between the lowest and the highest source of a
    sharp turn, whichever reading is taken."""
    for reading in ("low", "usual", "high"):
        assert 1.0 <= tees.opposed_joining(1.0, 1.0, reading) <= 2.1


def test_opposed_dividing():
    """Idelchik, symmetrical dividing tee at equal division: 1 + 0.3/4 with smooth joints, 1 + 1.5/4 threaded."""
    assert tees.opposed_dividing(0.5, 1.0) == pytest.approx(1.075)
    assert tees.opposed_dividing(0.5, 1.0, "high") == pytest.approx(1.375)


@pytest.mark.parametrize(
    ("reynolds", "printed"),
    [
        (1e4, 1.40),
        (2e4, 1.26),
        (3e4, 1.19),
        (4e4, 1.14),
        (6e4, 1.09),
        (8e4, 1.06),
        (1e5, 1.04),
        (1.4e5, 1.0),
        (1e6, 1.0),
    ],
)
def test_the_turns_factor_against_ashrae(reynolds, printed):
    """ASHRAE Handbook of Fundamentals, duct fittings, mitred rectangular elbow: the printed Reynolds correction."""
    assert losses.turn_factor(reynolds) == pytest.approx(printed, rel=0.031)


#: Miller, Blevins, Rennels, Crane of a sharp 90° turn as the library carries them, and two more rows by hand.
_ASHRAE = {1e4: 1.68, 2e4: 1.51, 1e5: 1.25, 2e5: 1.20}
_IDELCHIK = {5e3: 3.45, 1e4: 2.87, 2e4: 2.39, 5e4: 1.88, 1e5: 1.57, 2e5: 1.31}


@pytest.mark.parametrize("reynolds", [5e3, 1e4, 2e4, 5e4, 1e5, 2e5])
def test_a_sharp_turn_is_the_middle_of_six_sources(reynolds):
    """What is used lies within 20 % of the sources' median, and the spread that is stated takes all of them in.

    Miller, Blevins, Rennels and Crane by ``fluids``; ASHRAE's rectangular elbow (side ratio 1) and Idelchik's ζ with
    its Reynolds factor as printed rows.
    """
    theirs = [
        float(handbook.bend_miter(angle=90, Di=0.008, Re=reynolds, roughness=0.0, method=method))
        for method in ("Miller", "Blevins", "Rennels", "Crane")
    ]
    theirs += [rows[reynolds] for rows in (_ASHRAE, _IDELCHIK) if reynolds in rows]
    ours = losses.mitre(90) * float(losses.turn_factor(reynolds)) + losses.low_reynolds(90) / reynolds
    assert ours == pytest.approx(float(np.median(theirs)), rel=0.20)
    low, high = losses.turn_spread(reynolds)
    assert float(low) * ours <= min(theirs) * 1.03
    assert float(high) * ours >= max(theirs) * 0.97


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0, 3.0])
@pytest.mark.parametrize("reynolds", [5e3, 1e4, 5e4, 2e5])
def test_bends_of_tube_between_three_sources(ratio, reynolds):
    """Rounded 90° bends, friction in the bend included: our n·f against the band of Rennels, Miller and Ito."""
    f = friction_book.friction_factor(Re=reynolds, eD=0.0)
    ours = f * (losses.bend_friction_lengths(90, ratio) * losses.bend_factor(reynolds)[0] + np.pi / 2 * ratio)
    theirs = [
        handbook.bend_rounded(Di=0.008, angle=90, rc=0.008 * ratio, Re=reynolds, roughness=0.0, method=method)
        for method in ("Rennels", "Miller", "Ito")
    ]
    assert 0.85 * min(theirs) <= ours <= 1.15 * max(theirs)


@pytest.mark.parametrize("ratio", [1.0, 1.5])
def test_a_bend_in_laminar_flow_is_about_hoopers_elbow(ratio):
    """Crane's multiples times the laminar f come to 64 n / Re: within 40 % of Hooper's 800 / Re (1981)."""
    assert losses.bend_factor(1000.0)[0] == 1.0
    assert 64 * losses.bend_friction_lengths(90, ratio) == pytest.approx(800, rel=0.40)
