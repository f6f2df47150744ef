"""``python -m sketcher.export.describe docs/files.md`` writes the table of sheets in the docs from the registry."""

from __future__ import annotations

import sys
from pathlib import Path

from sketcher.export import kinds

BEGIN, END = "<!-- sheets: begin -->", "<!-- sheets: end -->"


def renewed(text: str) -> str:
    """``docs/files.md`` with its table of sheets made again."""
    rows = [
        f"| `{kind.name}` | {kind.about} | {', '.join(kind.formats)} | {kind.paper or 'one page of its own size'} |"
        for kind in kinds()
    ]
    table = "| sheet | holds | kinds of file | paper of a PDF |\n| --- | --- | --- | --- |\n" + "\n".join(rows)
    before, rest = text.split(BEGIN)
    return f"{before}{BEGIN}\n\n{table}\n\n{END}{rest.split(END)[1]}"


if __name__ == "__main__":
    path = Path(sys.argv[1])
    path.write_text(renewed(path.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
