"""What every command needs: documents read, answers shown, and the one way to stop."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sketcher.document import Document, DocumentError, read

OK, FOUND, FAILED = 0, 1, 2


class Stop(Exception):
    """The command cannot go on; the message names the file, the place and the fix."""


def document_of(path: Path) -> Document:
    """The document in a file.

    Raises:
        Stop: there is none, or it is not valid.
    """
    try:
        return read(path)
    except DocumentError as error:
        raise Stop(f"{path}: {error}") from None
    except OSError as error:
        raise Stop(f"{path}: {error.strerror or error}; name a plate document") from None


def show(answer: dict[str, Any]) -> None:
    """An answer as JSON."""
    print(json.dumps(answer, indent=2, ensure_ascii=False, allow_nan=False))


def answered(answer: dict[str, Any], words: Iterable[str], as_json: bool) -> None:
    """An answer as JSON, or in words."""
    if as_json:
        show(answer)
    else:
        print("\n".join(words))


@contextmanager
def told_of(path: Path, advice: str = "choose another place") -> Iterator[None]:
    """What the system refuses about a file becomes one line that names it."""
    try:
        yield
    except OSError as error:
        raise Stop(f"{path}: {error.strerror or error}; {advice}") from None
