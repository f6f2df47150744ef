"""The key to the page: a secret beside the store, so that a page that stays open outlives the program's stop and start.

Other users of the machine can reach its addresses, but not read a file that is for its owner alone.
"""

from __future__ import annotations

import os
import re
import secrets
import stat
from contextlib import suppress
from pathlib import Path

from sketcher.store.database import StoreError

NAME = "token"
_FORM = re.compile(r"[A-Za-z0-9_-]{32,64}")


def token_of(folder: Path) -> str:
    """The token of a data folder, made the first time; one that cannot be read or is open to others is made again.

    Raises:
        StoreError: it cannot be kept.
    """
    path = folder / NAME
    kept = _kept(path)
    if kept is not None:
        return kept
    made = secrets.token_urlsafe(32)
    try:
        path.unlink(missing_ok=True)
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, stat.S_IRUSR | stat.S_IWUSR), "w") as stream:
            stream.write(made)
    except FileExistsError:  # another start of the program was quicker
        return _kept(path) or made
    except OSError as error:
        raise StoreError(f"{path}: {error.strerror or error}; choose another folder with --data") from None
    return made


def _kept(path: Path) -> str | None:
    with suppress(OSError, UnicodeDecodeError):
        there = path.lstat()
        private = os.name == "nt" or not stat.S_IMODE(there.st_mode) & (stat.S_IRWXG | stat.S_IRWXO)
        if stat.S_ISREG(there.st_mode) and private and there.st_size < 200:
            text = path.read_text("ascii").strip()
            if _FORM.fullmatch(text):
                return text
    return None
