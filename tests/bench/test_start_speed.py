"""Start to first answer, as a ratio to what nobody can do without: the interpreter with numpy, shapely and flask.

Each is a process of its own, on a warm disk, in processor time. ``python -m tests.bench.test_start_speed`` prints both.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
_BARE = "import numpy, shapely, flask"
#: The application, the page's own key, and the first answer to the demo as the page asks for it when it opens.
_OURS = """
import json, tempfile
from pathlib import Path
from sketcher.server.serve import create_app
app = create_app(Path(tempfile.mkdtemp()))
client = app.test_client()
client.get(f"/?token={app.extensions['keys'].token}").close()
demo = json.loads(Path("examples/riser-bench.json").read_text("utf-8"))
want = ["findings", "flow", "drawing"]
assert client.post("/api/look", json={"document": demo, "want": want, "quick": True}).status_code == 200
"""
_TIMED = "\nimport time\nprint(time.process_time())"


def measure(rounds: int = 4) -> tuple[float, float]:
    """Processor seconds of the bare imports and of ours up to the first answer, the least of some in turn."""
    least = [float("inf")] * 2
    with tempfile.TemporaryDirectory() as kept:
        # Compiled modules are kept, as an installed program has them; the first round makes them.
        around = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
        around["PYTHONPYCACHEPREFIX"] = kept
        for round_ in range(rounds + 1):
            for k, script in enumerate((_BARE, _OURS)):
                command = [sys.executable, "-c", script + _TIMED]
                done = subprocess.run(command, cwd=ROOT, env=around, capture_output=True, text=True, check=True)
                least[k] = min(least[k], float(done.stdout)) if round_ else least[k]
    return least[0], least[1]


def test_the_first_answer_takes_at_most_seven_times_the_bare_imports() -> None:
    bare, ours = measure()
    assert ours <= 7 * bare, f"{ours:.2f} s against {bare:.2f} s"


if __name__ == "__main__":
    print("bare {:.2f} s, to the first answer {:.2f} s".format(*measure()))
