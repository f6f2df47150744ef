"""Cutting from stock lengths: against every way to part the pieces, tried one by one."""

import itertools

import numpy as np
import pytest

from sketcher.tubes.stock import MOST_EXACT, cut


def brute(lengths, stock, kerf):
    """Least bought over all partitions: every piece into one of as many groups as there are pieces."""
    best = float("inf")
    for labels in itertools.product(range(len(lengths)), repeat=len(lengths)):
        if list(dict.fromkeys(labels)) != sorted(set(labels)):
            continue
        bought = 0.0
        for label in set(labels):
            group = [length for length, own in zip(lengths, labels, strict=True) if own == label]
            need = sum(group) + kerf * (len(group) - 1)
            bought += min((size for size in stock if size >= need - 1e-9), default=float("inf"))
        best = min(best, bought)
    return best


@pytest.mark.parametrize("seed", range(8))
def test_the_cutting_buys_the_least(seed):
    random = np.random.default_rng(seed)
    lengths = [float(x) for x in random.uniform(60, 480, size=3 + seed % 4)]
    found = cut([(f"T{i}", x) for i, x in enumerate(lengths)], [500.0, 1000.0], 1.5)
    assert found.exact
    assert found.bought_mm == pytest.approx(brute(lengths, [500.0, 1000.0], 1.5))
    assert sorted(name for _, names in found.lengths for name in names) == [f"T{i}" for i in range(len(lengths))]
    sawn = sum(1.5 * (len(names) - 1) for _, names in found.lengths)
    assert found.offcut_mm == pytest.approx(found.bought_mm - sum(lengths) - sawn)


def test_exact_fits_leave_nothing():
    found = cut([("A", 600.0), ("B", 400.0), ("C", 500.0)], [500.0, 1000.0], 0.0)
    assert (found.bought_mm, found.offcut_mm) == (1500.0, 0.0)


def test_many_pieces_keep_to_a_bound():
    random = np.random.default_rng(5)
    pieces = [(f"T{i}", float(x)) for i, x in enumerate(random.uniform(50, 400, size=MOST_EXACT + 15))]
    found = cut(pieces, [1000.0], 1.5)
    assert found.bound_mm <= found.bought_mm <= 11 / 9 * found.bound_mm + 1000
    for size, names in found.lengths:
        need = sum(dict(pieces)[name] for name in names) + 1.5 * (len(names) - 1)
        assert need <= size + 1e-6


def test_a_piece_too_long_is_named():
    found = cut([("A", 1200.0), ("B", 300.0)], [500.0, 1000.0])
    assert found.too_long == ("A",)
    assert found.bought_mm == 500.0
