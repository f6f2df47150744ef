"""The SQLite file: its tables, how it is opened, and how older ones are lifted.

Every change is one transaction. Each call opens its own connection: SQLite does the locking between threads, and
nothing is left open when a thread ends.
"""

from __future__ import annotations

import errno
import os
import sqlite3
import stat
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from enum import StrEnum
from pathlib import Path
from urllib.parse import quote

NAME = "plates.sqlite3"
#: Names of what the program itself keeps in its folder.
OURS = (NAME, "token")
_LONGEST_NAME = 500
#: A writer waits so long for another program's lock, s.
LOCK_S = 5.0

#: Each step lifts the file by one version; a new file takes them all.
STEPS = (
    """
    CREATE TABLE plate (
        id INTEGER PRIMARY KEY,
        state INTEGER NOT NULL,           -- counts every change, undo and redo included
        step INTEGER NOT NULL,            -- the step of the history that is in force
        deleted INTEGER NOT NULL DEFAULT 0,
        changed TEXT NOT NULL
    );
    CREATE TABLE step (
        plate INTEGER NOT NULL REFERENCES plate(id),
        number INTEGER NOT NULL,
        label TEXT NOT NULL,
        name TEXT NOT NULL,
        document TEXT NOT NULL,
        PRIMARY KEY (plate, number)
    );
    CREATE TABLE overwritten (            -- steps that were undone and then drawn over: kept, never shown in undo
        plate INTEGER NOT NULL,
        number INTEGER NOT NULL,
        label TEXT NOT NULL,
        document TEXT NOT NULL,
        changed TEXT NOT NULL
    );
    CREATE TABLE revision (
        plate INTEGER NOT NULL REFERENCES plate(id),
        number INTEGER NOT NULL,
        kind TEXT NOT NULL,               -- test-piece, hand-off or kept
        label TEXT NOT NULL,
        reason TEXT NOT NULL,
        made TEXT NOT NULL,
        document TEXT NOT NULL,
        files TEXT NOT NULL DEFAULT '{}',
        PRIMARY KEY (plate, number)
    );
    CREATE TABLE blob (
        plate INTEGER NOT NULL REFERENCES plate(id),
        name TEXT NOT NULL,
        kind TEXT NOT NULL,
        content BLOB NOT NULL,
        PRIMARY KEY (plate, name)
    );
    CREATE TABLE profile (
        name TEXT PRIMARY KEY,
        content TEXT NOT NULL
    );
    """,
    """
    CREATE TABLE own_part (               -- parts of one's own, kept across plates
        name TEXT PRIMARY KEY,
        content TEXT NOT NULL
    );
    """,
)


class Cause(StrEnum):
    """Why nothing can be kept, where whoever keeps plates can do something about it."""

    FULL = "full"
    HELD = "held"
    READ_ONLY = "read-only"
    DAMAGED = "damaged"
    OTHER = "other"


#: What SQLite's own codes mean for whoever keeps plates (sqlite.org, result and error codes), without its words.
_MEANINGS = {
    "SQLITE_NOTADB": (
        Cause.DAMAGED,
        "this is no store of plates, or it is damaged; move it away and start again, or choose another"
        " folder with --data",
    ),
    "SQLITE_CORRUPT": (
        Cause.DAMAGED,
        "the store is damaged; keep a copy of the folder, and put a backup of the file in its place",
    ),
    "SQLITE_FULL": (Cause.FULL, "the disk is full; make room"),
    "SQLITE_BUSY": (Cause.HELD, "another program holds the store; close it, or try again"),
    "SQLITE_LOCKED": (Cause.HELD, "another program holds the store; close it, or try again"),
    "SQLITE_READONLY": (
        Cause.READ_ONLY,
        "the store may only be read; allow writing, or choose another folder with --data",
    ),
    "SQLITE_PERM": (Cause.READ_ONLY, "the store may not be used; allow it, or choose another folder with --data"),
    "SQLITE_CANTOPEN": (
        Cause.READ_ONLY,
        "the store cannot be opened; look whether the folder is there and may be written",
    ),
    "SQLITE_NOMEM": (Cause.OTHER, "there is not enough memory; close other programs and try again"),
    "SQLITE_IOERR_NOMEM": (Cause.OTHER, "there is not enough memory; close other programs and try again"),
    # The log's index is a part of memory that programs share.
    "SQLITE_IOERR_SHM": (
        Cause.OTHER,
        "there is not enough memory, or the disk is failing; close other programs and try again",
    ),
    "SQLITE_IOERR": (Cause.OTHER, "the disk does not answer as it should; look whether it is full or failing"),
    "SQLITE_TOOBIG": (Cause.OTHER, "this is more than the store takes"),
    "SQLITE_ERROR": (
        Cause.DAMAGED,
        "the store is damaged (a table or a column is missing); put a backup of the file in its place",
    ),
    "SQLITE_MISMATCH": (
        Cause.DAMAGED,
        "the store is damaged (a value is of the wrong kind); put a backup of the file in its place",
    ),
}


class StoreError(Exception):
    """The store cannot do what was asked; the message says why and what to do, the cause in one word."""

    def __init__(self, message: str, cause: Cause = Cause.OTHER) -> None:
        super().__init__(message)
        self.cause = cause


def _refusal(path: Path, error: sqlite3.Error, after: str = "") -> StoreError:
    """An error of SQLite as one of the store."""
    name = getattr(error, "sqlite_errorname", "") or ""
    for code, (cause, words) in _MEANINGS.items():
        if name.startswith(code):
            return StoreError(f"{path}: {words}{after}", cause)
    return StoreError(f"{path}: the store refused this ({name or type(error).__name__}){after}")


#: Without these there is no store; what later steps add is theirs to ask for.
_TABLES = {"plate", "step", "overwritten", "revision", "blob", "profile"}


def _private_folder(folder: Path) -> None:
    """Makes the folder, for its owner alone; one that holds other things too stays as it is."""
    try:
        folder.mkdir(parents=True, mode=stat.S_IRWXU)
    except FileExistsError:
        if not folder.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, "something that is no folder stands in its place") from None
        if not all(entry.name.startswith(OURS) for entry in folder.iterdir()):
            return
    _for_owner_alone(folder)


def _for_owner_alone(path: Path) -> None:
    """Takes the rights of all others away, and gives none: what its owner made read-only stays so."""
    # Not every file system knows owners, and a folder of somebody else's is not ours to close.
    with suppress(OSError):
        mode = stat.S_IMODE(path.stat().st_mode)
        if mode & (stat.S_IRWXG | stat.S_IRWXO):
            path.chmod(mode & stat.S_IRWXU)


def _private_file(path: Path) -> None:
    """Makes the file, for its owner alone, before SQLite does; what SQLite puts beside it is as the file is.

    Raises:
        StoreError: a link or something else stands in its place.
    """
    with suppress(FileExistsError):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, stat.S_IRUSR | stat.S_IWUSR))
    if not stat.S_ISREG(path.lstat().st_mode):
        raise StoreError(f"{path}: this is a link or a folder, no store; choose another folder with --data")
    for name in (path.name, f"{path.name}-wal", f"{path.name}-shm"):
        _for_owner_alone(path.with_name(name))


def existing(name: str) -> str:
    """The address of a file for SQLite that it opens and never makes (sqlite.org/uri.html), from its whole name.

    Where the file was moved away while the program runs, a new and empty one in its place would be open to all, and
    its log could be taken for that of the file when this comes back.
    """
    # A server's name stands behind four strokes: behind two SQLite takes it for another machine's.
    before = "//" if name.startswith("//") else "" if name.startswith("/") else "/"
    return f"file:{before}{quote(os.fsencode(name))}?mode=rw"


class Database:
    """One SQLite file in a data folder, made when it is not there.

    Raises:
        StoreError: the folder cannot be written, or the file is newer than this program or no database.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / NAME
        self._turn = threading.Lock()
        # SQLite's own limit is 512 bytes with the names of its logs (os_unix.c, MAX_PATHNAME).
        if os.name != "nt" and len(os.fsencode(self.path.absolute())) > _LONGEST_NAME:
            raise StoreError(f"{self.path}: the name is longer than the store takes; choose another folder with --data")
        try:
            _private_folder(folder)
            _private_file(self.path)
            self._lift()
        except sqlite3.Error as error:
            raise _refusal(self.path, error) from None
        except OSError as error:
            raise StoreError(f"{self.path}: {error.strerror or error}; choose another folder with --data") from None

    def _lift(self) -> None:
        with closing(self._open()) as connection:
            # The version is read again under the lock: another program may be making the same file just now.
            if self._version(connection) < len(STEPS):
                connection.execute("BEGIN IMMEDIATE")
                for number, step in enumerate(STEPS[self._version(connection) :], start=self._version(connection) + 1):
                    for statement in step.split(";"):
                        connection.execute(statement)
                    connection.execute(f"PRAGMA user_version = {number}")
                connection.execute("COMMIT")
            known = {row["name"] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            if missing := _TABLES - known:
                raise StoreError(
                    f"{self.path}: the store is damaged ({', '.join(sorted(missing))} is missing); put a backup of the"
                    " file in its place",
                    Cause.DAMAGED,
                )

    def _version(self, connection: sqlite3.Connection) -> int:
        version = int(connection.execute("PRAGMA user_version").fetchone()[0])
        if version > len(STEPS):
            raise StoreError(f"{self.path} was written by a newer program; stop this one and update it")
        return version

    def _open(self) -> sqlite3.Connection:
        connection = sqlite3.connect(
            existing(self.path.absolute().as_posix()), timeout=LOCK_S, isolation_level=None, uri=True
        )
        connection.row_factory = sqlite3.Row
        connection.execute("PRAGMA foreign_keys = ON")
        # Locked here means that another program is switching it just now; either mode is safe.
        with suppress(sqlite3.OperationalError):
            connection.execute("PRAGMA journal_mode = WAL")
        # A finished edit survives the machine's going down, not only the program's.
        connection.execute("PRAGMA synchronous = FULL")
        # macOS keeps what is flushed in the disk's own memory unless it is told so; elsewhere this says nothing.
        connection.execute("PRAGMA fullfsync = ON")
        connection.execute("PRAGMA checkpoint_fullfsync = ON")
        return connection

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """A connection for looking things up.

        Raises:
            StoreError: the file is gone, cannot be read, is damaged, or newer than this program.
        """
        try:
            with closing(self._open()) as connection:
                self._version(connection)
                yield connection
        except sqlite3.Error as error:
            raise _refusal(self.path, error) from None

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A connection inside one transaction: all of it is kept, or none.

        Raises:
            StoreError: the disk is full, the file cannot be written or is newer than this program; nothing has changed
                then.
        """
        until = time.monotonic() + LOCK_S
        # One after the other: among many SQLite lets in whom chance has it, and somebody waits in vain.
        mine = self._turn.acquire(timeout=LOCK_S)
        try:
            with closing(self._open()) as connection:
                try:
                    connection.execute(f"PRAGMA busy_timeout = {max(round(1000 * (until - time.monotonic())), 50)}")
                    connection.execute("BEGIN IMMEDIATE")
                    # A newer program may have lifted the file since this one was started.
                    self._version(connection)
                    yield connection
                    connection.execute("COMMIT")
                finally:
                    if connection.in_transaction:
                        connection.execute("ROLLBACK")
        except sqlite3.Error as error:
            raise _refusal(self.path, error, "; nothing was changed") from None
        finally:
            if mine:
                self._turn.release()
