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
    # Written under a name of its own first: another start of the program at the same moment finds the whole or nothing.
    beside = path.with_name(f"{NAME}.{secrets.token_hex(8)}")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    try:
        with os.fdopen(os.open(beside, flags, stat.S_IRUSR | stat.S_IWUSR), "wb") as stream:
            stream.write(made.encode("ascii"))
        return _put(beside, path, made)
    except OSError as error:
        raise StoreError(f"{path}: {error.strerror or error}; choose another folder with --data") from None
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)


def _put(beside: Path, path: Path, made: str) -> str:
    """Gives the new token its name; where another program has just done so, its token counts."""
    try:
        os.link(beside, path)
        return made
    except FileExistsError:
        kept = _kept(path)
        if kept is not None:
            return kept
    except OSError:  # a file system without a second name for a file: the last one counts
        pass
    os.replace(beside, path)
    return made


def _kept(path: Path) -> str | None:
    with suppress(OSError, UnicodeDecodeError):
        there = path.lstat()
        private = os.name == "nt" or not stat.S_IMODE(there.st_mode) & (stat.S_IRWXG | stat.S_IRWXO)
        # Of another user's making it would be known to him.
        ours = os.name == "nt" or there.st_uid == os.geteuid()
        if stat.S_ISREG(there.st_mode) and private and ours and there.st_size < 200:
            text = path.read_text("ascii").strip()
            if _FORM.fullmatch(text):
                return text
    return None
