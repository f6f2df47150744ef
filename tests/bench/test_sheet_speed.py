"""How sheets and files grow with the items, and what a DXF costs beside bare ezdxf, in the same run.

``docs/speed.md`` has the figures. ``python -m tests.bench.test_sheet_speed`` prints them.
"""

from __future__ import annotations

import io

import ezdxf
import pytest

from sketcher.document.remembered import forget_all
from sketcher.export.dxf import dxf
from sketcher.export.sheets import make_sheet
from sketcher.geometry import build
from tests.bench.test_check_speed import best
from tests.checks.plates import made


def growth(sheet: str) -> tuple[float, float]:
    """Seconds of a sheet of 600 and of 3,000 items, nothing remembered."""
    few, many = made(600), made(3000)

    def work(document: object) -> None:
        forget_all()
        make_sheet(document, build(document), sheet)  # type: ignore[arg-type]

    short, long = best(lambda: work(few), lambda: work(many), rounds=2, seconds=0)
    return short, long


def against_ezdxf() -> tuple[float, float]:
    """Seconds of our DXF of a sheet, and of bare ezdxf writing as many polylines and circles."""
    document = made(600)
    sheet = make_sheet(document, build(document), "final")

    def bare() -> None:
        drawing = ezdxf.new("R2010")
        space = drawing.modelspace()
        for n, _ in enumerate(sheet.entities):
            if n % 2:
                space.add_circle((n, 0), 2)
            else:
                space.add_lwpolyline([(n, 0), (n + 5, 0), (n + 5, 5), (n, 5)], close=True)
        drawing.write(io.StringIO())

    ours, theirs = best(lambda: dxf(sheet), bare, rounds=3, seconds=0)
    return ours, theirs


@pytest.mark.parametrize("sheet", ["test-piece", "final"])
def test_five_times_the_items_take_at_most_eight_times_the_time(sheet: str) -> None:
    short, long = growth(sheet)
    assert long <= 8 * short, f"{long:.2f} s against {short:.2f} s"


def test_a_dxf_takes_at_most_three_times_bare_ezdxf() -> None:
    ours, theirs = against_ezdxf()
    assert ours <= 3 * theirs, f"{ours * 1e3:.0f} ms against {theirs * 1e3:.0f} ms"


if __name__ == "__main__":
    for name in ("test-piece", "final"):
        short, long = growth(name)
        print(f"{name}: 600 items {short:.2f} s, 3,000 items {long:.2f} s, ratio {long / short:.1f}")
    ours, theirs = against_ezdxf()
    print(f"dxf {ours * 1e3:.0f} ms, bare ezdxf {theirs * 1e3:.0f} ms, ratio {ours / theirs:.1f}")
