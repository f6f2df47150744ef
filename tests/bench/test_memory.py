"""What the program and a plate of 6,000 items take in memory, in a process of their own.

``python -m tests.bench.test_memory`` prints it.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MOVES = 30

_SCRIPT = """
import sys
from pathlib import Path
from sketcher.document import read
from sketcher.server.look_routes import answer
from tests.checks.plates import made

def held():
    line = next(line for line in open("/proc/self/status") if line.startswith("VmRSS"))
    return int(line.split()[1]) / 1024

answer(read(Path("examples/riser-bench.json")), ["findings", "flow", "drawing"])
before = held()
document = made(6000)
most = 0.0
for n in range(int(sys.argv[1])):
    first, *others = document.ports
    moved = first.model_copy(update={"x_mm": first.x_mm + 0.01})
    document = document.model_copy(update={"ports": (moved, *others)})
    answer(document, ["findings", "flow", "snaps"], quick=True)
    most = max(most, held())
answer(document, ["drawing"], quick=True)
print(before, most, max(most, held()))
"""


def measure(moves: int = MOVES) -> tuple[float, float, float]:
    """MB that the program holds after the demo, at most while 6,000 items are dragged, and with their drawing."""
    done = subprocess.run(
        [sys.executable, "-c", _SCRIPT, str(moves)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    before, drag, drawn = (float(word) for word in done.stdout.split())
    return before, drag, drawn


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="only Linux says what a process holds in /proc")
def test_six_thousand_items_take_less_than_300_mb() -> None:
    before, _, drawn = measure()
    assert drawn < 300, f"{drawn:.0f} MB, {before:.0f} of them the program and the demo"


if __name__ == "__main__":
    print(
        "{:.0f} MB after the demo, {:.0f} MB while 6,000 items are dragged, {:.0f} MB with their drawing".format(
            *measure()
        )
    )
