"""What the program imports before it serves: nothing that takes long and that the first answer does not need."""

from __future__ import annotations

import subprocess
import sys

#: Each takes between a tenth and half a second; only some requests need it, and import it then.
LATER = (
    "scipy",
    "ezdxf",
    "reportlab",
    "PIL",
    "fluids",
    "CoolProp",
    "OCP",
    "sketcher.export.handoff",
    "sketcher.export.sheets",
    "sketcher.proposing.search",
    "sketcher.trial.analysis",
    "sketcher.importing.floor_import.dxf",
)


def test_what_takes_long_is_imported_by_those_who_need_it() -> None:
    script = "import sys\nimport sketcher.server.serve\nprint(*sys.modules, sep='\\n')"
    found = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout.split()
    assert "sketcher.server.app" in found
    assert not set(LATER) & set(found)
