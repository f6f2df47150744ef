"""``python -m sketcher.server.describe docs/http.md`` writes the table of routes in the docs anew."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from sketcher.server.app import create_app
from sketcher.server.openapi import renewed

if __name__ == "__main__":
    docs = Path(sys.argv[1])
    with tempfile.TemporaryDirectory() as folder:
        text = renewed(create_app(Path(folder)), docs.read_text(encoding="utf-8"))
    docs.write_text(text, encoding="utf-8", newline="\n")
