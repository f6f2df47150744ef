"""Connections that are not drawn yet, and the groups behind them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from sketcher.document import DocumentError
from sketcher.document.joined import open_connections
from sketcher.document.union_find import grouped
from tests.checks.plates import channel, plate

PORTS = [{"id": f"P{n}", "x_mm": 40 * n, "y_mm": 150} for n in range(1, 5)]


@given(st.lists(st.tuples(st.integers(0, 19), st.integers(0, 19)), max_size=40))
def test_groups_are_scipys_connected_components(pairs: list[tuple[int, int]]) -> None:
    rows, columns = [a for a, _ in pairs], [b for _, b in pairs]
    _, labels = connected_components(coo_matrix(([1] * len(pairs), (rows, columns)), shape=(20, 20)), directed=False)
    expected = {frozenset(n for n in range(20) if labels[n] == label) for label in set(labels)}
    assert {frozenset(group) for group in grouped(range(20), pairs)} == expected


def test_a_connection_is_open_until_channels_join_all_its_ports() -> None:
    loop = {"connections": [["P1", "P2", "P3"]]}
    bare = plate(ports=PORTS, loop=loop)
    half = plate(ports=PORTS, loop=loop, channels=[channel("C1", start="P1", end="P2")])
    by_p4 = plate(
        ports=PORTS,
        loop=loop,
        channels=[
            channel("C1", start="P1", end="P2"),
            channel("C2", start="P2", end="P4"),
            channel("C3", start="P4", end="P3"),
        ],
    )
    assert open_connections(bare) == [[["P1"], ["P2"], ["P3"]]]
    assert open_connections(half) == [[["P1", "P2"], ["P3"]]]
    assert open_connections(by_p4) == []


@pytest.mark.parametrize(
    ("connections", "words"),
    [
        ([["P1", "P9"]], "no port is called 'P9'"),
        ([["P1", "P1"]], "twice"),
        ([["P1", "P2"], ["P2", "P3"]], "connection 1 already"),
        ([["P1"]], "at least 2"),
    ],
)
def test_a_connection_that_cannot_be_is_refused_by_place(connections: list, words: str) -> None:
    with pytest.raises(DocumentError, match=words) as refused:
        plate(ports=PORTS, loop={"connections": connections})
    assert "/loop/connections/" in str(refused.value)
