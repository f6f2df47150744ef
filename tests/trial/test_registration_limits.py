"""Where registration stops: readings that scatter beyond their spread, and a majority too small to be believed."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from sketcher.trial.registration import PortReading, register

#: Upper 0.1 % of chi-square by its degrees: NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.4.
UPPER = {1: 10.828, 3: 16.266, 5: 20.515, 10: 29.588}


@pytest.mark.parametrize("degrees", UPPER)
def test_readings_scatter_from_the_tables_value_on(degrees: int) -> None:
    found = register([PortReading(f"P{k}", 100.0 * k, 50.0 * (k % 2), 0.0, 0.0) for k in range(4)])
    assert replace(found, degrees=degrees, chi2=UPPER[degrees] + 0.01).scatters
    assert not replace(found, degrees=degrees, chi2=UPPER[degrees] - 0.01).scatters
    assert not replace(found, degrees=0, chi2=1000.0).scatters


def tried(count: int, wild: int) -> list[PortReading]:
    """So many ports, all shifted by 6 and -4 mm, some of them by something of their own besides."""
    places = [(0, 0), (200, 10), (390, 0), (400, 140), (210, 150), (10, 290), (205, 300), (395, 295), (100, 220)]
    own = [(14, 9), (-17, 12), (11, -19), (-13, -15)]
    rows = []
    for k, (x, y) in enumerate(places[:count]):
        dx, dy = own[k] if k < wild else (0, 0)
        rows.append(PortReading(f"P{k + 1}", float(x), float(y), 6.0 + dx, -4.0 + dy))
    return rows


def test_ports_off_on_their_own_are_named_beside_a_majority() -> None:
    found = register(tried(8, 3))
    assert set(found.suspects) == {"P1", "P2", "P3"}
    assert found.moves_as_a_whole
    assert found.shift == pytest.approx((6, -4), abs=0.6)
    assert not found.scatters


def test_too_small_a_majority_names_nobody() -> None:
    """Five of nine agree on a shift: with four others each elsewhere, those five may as well be the wrong ones."""
    found = register(tried(9, 4))
    assert found.suspects == ()
    assert found.blocks == ()
    assert found.rivals
    assert {"P1", "P2", "P3", "P4"} <= set(found.rivals[0])


@pytest.mark.parametrize(("turn_deg", "lies"), [(30.0, True), (50.0, False)])
def test_a_piece_asked_to_be_turned_alone_is_refused_in_words_where_no_such_turn_is_believed(turn_deg, lies) -> None:
    """Rotation about the middle of a rectangle; 35 degrees is the most with which a piece lies right."""
    c, s = math.cos(math.radians(turn_deg)) - 1, math.sin(math.radians(turn_deg))
    arms = [(-100.0, -50.0), (100.0, -50.0), (100.0, 50.0), (-100.0, 50.0)]
    rows = [PortReading(f"P{k}", x, y, c * x - s * y, s * x + c * y) for k, (x, y) in enumerate(arms)]
    if lies:
        assert register(rows, wholes=("turned",)).turn_deg == pytest.approx(turn_deg, abs=0.1)
    else:
        with pytest.raises(ValueError, match="no piece that lies turned reads so"):
            register(rows, wholes=("turned",))
