"""Requests that a program of others makes from the interface's description: schemathesis, a second maker of requests.

With ``--long`` alone, and only where schemathesis is installed: it is a group of dependencies of its own, since it
brings a web framework's worth of others. ``pip install --group attack`` installs it beside the tests; a
``schemathesis`` anywhere on the path does as well.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from tests.browser.conftest import Server
from tests.robust.test_documents import ONE_OF_EACH
from tests.robust.test_requests import LEFT_OUT

#: Of each operation schemathesis makes so many requests at random; of one without a parameter or a body fewer.
AT_RANDOM = 60
#: Requests are at least so many in each phase: those of its coverage (every boundary of every schema, once) and those
#: at random. Together they are more than the 5,000 that docs/trust.md promises.
LEAST = {"coverage": 5000, "fuzzing": 2500}
#: Nobody waits longer, s: six times what either phase took on two cores with nine other things to do.
LONGEST_S = 2400


#: Each boundary of the document's schema is asked of these alone: of all thirty routes that take a document it would be
#: a hundred thousand requests more that are refused in the same place. Those at random go to all of them.
ASKED_WHOLE = {"/api/look", "/api/plates", "/api/plates/{plate}"}


def with_documents(server: Server) -> set[str]:
    """The paths of the other routes that take a document."""
    described = server.get("/api/openapi.json")
    found = set()
    for path, ways in described["paths"].items():
        for way in ways.values():
            body = way.get("requestBody", {}).get("content", {}).get("application/json", {}).get("schema", {})
            model = described["components"]["schemas"].get(body.get("$ref", "").rpartition("/")[2], {})
            if model.get("properties", {}).keys() & {"document", "before"}:
                found.add(path)
    assert found >= ASKED_WHOLE
    return found - ASKED_WHOLE


def command() -> str | None:
    """The program, beside this Python or on the path."""
    return shutil.which("schemathesis", path=os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]]))


@pytest.mark.long
@pytest.mark.parametrize("phase", LEAST)
def test_requests_of_schemathesis_never_make_the_server_fail(
    phase: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    program = command()
    if program is None:
        pytest.skip("schemathesis is not installed: pip install --group attack")
    server = Server(tmp_path / "data")
    server.start()
    try:
        for _ in range(2):
            asked = urllib.request.Request(
                f"{server.address}api/plates",
                json.dumps({"document": ONE_OF_EACH}).encode(),
                {"Authorization": f"Bearer {server.token}", "Content-Type": "application/json"},
            )
            urllib.request.urlopen(asked).close()
        # Those that search long or pack begin a process for each request.
        paths = LEFT_OUT | (with_documents(server) if phase == "coverage" else set())
        left_out = [word for path in sorted(paths) for word in ("--exclude-path", path)]
        left_out += ["--exclude-path-regex", "proposals|handoff"]
        found = subprocess.run(
            [
                program, "run", f"{server.address}api/openapi.json", "-H", f"Authorization: Bearer {server.token}",
                "--phases", phase, "--checks", "not_a_server_error", "-n", str(AT_RANDOM),
                "--generation-database", "none", "--suppress-health-check", "all", "--no-color",
                "--request-timeout", "60", *left_out,
            ],
            cwd=tmp_path, capture_output=True, text=True, encoding="utf-8", errors="replace", timeout=LONGEST_S,
            check=False, env={**os.environ, "PYTHONUTF8": "1"},
        )  # fmt: skip
    finally:
        server.stop()
    said = found.stdout + found.stderr
    assert found.returncode == 0, said[-6000:]
    counted = re.search(r"(\d+) generated, (\d+) passed", said)
    assert counted, said[-3000:]
    with capsys.disabled():
        print(f"\n{phase}: {counted[1]} requests, {counted[2]} passed")
    assert counted[1] == counted[2]
    assert int(counted[1]) >= LEAST[phase], said[-3000:]
