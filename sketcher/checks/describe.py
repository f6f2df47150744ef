"""The table of all rules in ``docs/checks.md``, written from the registry so that the two never part.

``python -m sketcher.checks.describe docs/checks.md`` brings the file up to date.
"""

from __future__ import annotations

import sys
from pathlib import Path

from sketcher.checks import all_rules, matrix

BEGIN, END = "<!-- rules: begin -->", "<!-- rules: end -->"
MATRIX_BEGIN, MATRIX_END = "<!-- matrix: begin -->", "<!-- matrix: end -->"
QUESTIONS = {"fits": "Does it fit?", "flows": "Does it flow?", "holds": "Does it hold?", "made": "Can it be made?"}


def table() -> str:
    """The rules by the question they answer, as Markdown."""
    parts = []
    for question, heading in QUESTIONS.items():
        rows = [
            f"| `{rule.name}` | {rule.title} | {_limit(rule.limit, rule.unit)} | {rule.reason} | {rule.source} |"
            for rule in all_rules()
            if rule.question == question
        ]
        if rows:
            head = "| rule | what it asks | default limit | why | source |\n| --- | --- | --- | --- | --- |"
            parts.append(f"### {heading}\n\n{head}\n" + "\n".join(rows))
    return "\n\n".join(parts)


def _limit(limit: float | None, unit: str) -> str:
    return "" if limit is None else f"{limit:g} {unit}".strip()


def renewed(text: str) -> str:
    """The document with its two tables as the program has them now."""
    for begin, end, made in ((BEGIN, END, table()), (MATRIX_BEGIN, MATRIX_END, matrix.table())):
        before, rest = text.split(begin)
        text = f"{before}{begin}\n\n{made}\n\n{end}{rest.split(end)[1]}"
    return text


if __name__ == "__main__":
    path = Path(sys.argv[1])
    path.write_text(renewed(path.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
