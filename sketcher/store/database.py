"""The SQLite file: its tables, how it is opened, and how older ones are lifted.

Every change is one transaction. Each call opens its own connection: SQLite does the locking between threads, and
nothing is left open when a thread ends.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

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
)


class StoreError(Exception):
    """The store cannot do what was asked; the message says why and what to do."""


class Database:
    """One SQLite file in a data folder, made when it is not there.

    Raises:
        StoreError: the folder cannot be written, or the file is newer than this program or no database.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / "plates.sqlite3"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            self._lift()
        except (OSError, sqlite3.Error) as error:
            raise StoreError(f"{self.path}: {error}; choose another folder with --data") from None

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

    def _version(self, connection: sqlite3.Connection) -> int:
        version = int(connection.execute("PRAGMA user_version").fetchone()[0])
        if version > len(STEPS):
            raise StoreError(f"{self.path} was written by a newer program; update this one")
        return version

    def _open(self) -> sqlite3.Connection:
        connection = sqlite3.connect(self.path, timeout=10, isolation_level=None)
        connection.row_factory = sqlite3.Row
        connection.execute("PRAGMA foreign_keys = ON")
        # Locked here means that another program is switching it just now; either mode is safe.
        with suppress(sqlite3.OperationalError):
            connection.execute("PRAGMA journal_mode = WAL")
        # A finished edit survives the machine's going down, not only the program's.
        connection.execute("PRAGMA synchronous = FULL")
        return connection

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """A connection for looking things up.

        Raises:
            StoreError: the file is gone, cannot be read, or is damaged.
        """
        try:
            with closing(self._open()) as connection:
                yield connection
        except sqlite3.Error as error:
            raise StoreError(f"{self.path}: {error}") from None

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A connection inside one transaction: all of it is kept, or none.

        Raises:
            StoreError: the disk is full or the file cannot be written; nothing has changed then.
        """
        try:
            with closing(self._open()) as connection:
                try:
                    connection.execute("BEGIN IMMEDIATE")
                    yield connection
                    connection.execute("COMMIT")
                finally:
                    if connection.in_transaction:
                        connection.execute("ROLLBACK")
        except sqlite3.Error as error:
            raise StoreError(f"{self.path}: {error}; nothing was changed") from None
