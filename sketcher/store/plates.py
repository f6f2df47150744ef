"""Plates in the store: their history for undo and redo, their kept revisions, the files beside them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache

from sketcher.document import Document, DocumentError, dumps, loads, strict_json
from sketcher.store.database import Cause, Database, StoreError


class NoSuchPlate(StoreError):
    """No plate, revision or file has this number or name."""


class LabelTaken(StoreError):
    """A revision of that label is there already; what is cut from the two could not be told apart."""


class Conflict(StoreError):
    """The plate has changed since the state that the change was based on."""


@dataclass(frozen=True)
class Stored:
    """A plate as it stands: ``text`` is its document as canonical JSON."""

    id: int
    state: int
    text: str
    can_undo: str
    can_redo: str

    def document(self) -> Document:
        """The document. Raises ``DocumentError`` when this program can no longer read it."""
        return loads(self.text)


@dataclass(frozen=True)
class Listed:
    """A plate in the list; ``fault`` says why its document cannot be read, and is empty when it can."""

    id: int
    name: str
    state: int
    changed: str
    deleted: bool
    fault: str


@dataclass(frozen=True)
class Revision:
    """A kept state, of kind test-piece, hand-off or kept. ``files``: SHA-256 of each file made from it, by name."""

    number: int
    kind: str
    label: str
    reason: str
    made: str
    text: str
    files: dict[str, str]


def now() -> str:
    """This moment in UTC, to the second, in ISO 8601."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


class Plates:
    """All plates of one database."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def listed(self) -> list[Listed]:
        """Every plate, deleted ones too, the last changed first."""
        with self.database.reading() as connection:
            rows = connection.execute(
                "SELECT plate.id, plate.state, plate.changed, plate.deleted, step.name, step.document FROM plate"
                " JOIN step ON step.plate = plate.id AND step.number = plate.step ORDER BY changed DESC, plate.id DESC"
            ).fetchall()
        return [
            Listed(
                row["id"],
                row["name"],
                row["state"],
                _to_the_second(row["changed"]),
                bool(row["deleted"]),
                _fault(_text(row["document"])),
            )
            for row in rows
        ]

    def add(self, document: Document, label: str = "begun") -> Stored:
        """A new plate."""
        with self.database.writing() as connection:
            cursor = connection.execute(
                "INSERT INTO plate (state, step, changed) VALUES (1, 1, ?)", (_later(connection, 0),)
            )
            plate = int(cursor.lastrowid or 0)
            connection.execute(
                "INSERT INTO step VALUES (?, 1, ?, ?, ?)", (plate, label, document.name, dumps(document))
            )
            return _stored(connection, plate)

    def get(self, plate: int) -> Stored:
        """The plate as it stands. Raises ``NoSuchPlate``."""
        with self.database.reading() as connection:
            return _stored(connection, plate)

    def find(self, document: Document) -> Stored | None:
        """A plate that is this document, or else one that was begun from it and has been worked on since.

        What was put away is not found.
        """
        with self.database.reading() as connection:
            row = connection.execute(
                "SELECT plate.id FROM plate JOIN step ON step.plate = plate.id AND step.number IN (1, plate.step)"
                " WHERE deleted = 0 AND document = ? ORDER BY number = step DESC, changed DESC, plate.id DESC",
                (dumps(document),),
            ).fetchone()
            return _stored(connection, row["id"]) if row else None

    def save(self, plate: int, base: int, document: Document, label: str) -> Stored:
        """A new step after the one in force; steps that were undone are drawn over, and set aside.

        A plate that is this document already is answered as it stands: the answer to the first try was lost on its way.

        Raises:
            Conflict: the plate's state is no longer ``base``.
            NoSuchPlate: there is none.
        """
        text = dumps(document)
        with self.database.writing() as connection:
            try:
                step = _checked(connection, plate, base)
            except Conflict:
                stored = _stored(connection, plate)
                if stored.text == text:
                    return stored
                raise
            connection.execute(
                "INSERT INTO overwritten SELECT plate, number, label, document, ? FROM step"
                " WHERE plate = ? AND number > ?",
                (now(), plate, step),
            )
            connection.execute("DELETE FROM step WHERE plate = ? AND number > ?", (plate, step))
            connection.execute("INSERT INTO step VALUES (?, ?, ?, ?, ?)", (plate, step + 1, label, document.name, text))
            _advance(connection, plate, step + 1)
            return _stored(connection, plate)

    def undo(self, plate: int, base: int) -> Stored:
        """One step back; the same again when there is none. Raises ``Conflict`` and ``NoSuchPlate``."""
        return self._travel(plate, base, -1)

    def redo(self, plate: int, base: int) -> Stored:
        """One step forth; the same again when there is none. Raises ``Conflict`` and ``NoSuchPlate``."""
        return self._travel(plate, base, +1)

    def _travel(self, plate: int, base: int, by: int) -> Stored:
        with self.database.writing() as connection:
            step = _checked(connection, plate, base) + by
            there = connection.execute("SELECT 1 FROM step WHERE plate = ? AND number = ?", (plate, step)).fetchone()
            if there:
                _advance(connection, plate, step)
            return _stored(connection, plate)

    def set_deleted(self, plate: int, deleted: bool) -> None:
        """Puts a plate away or takes it back; nothing is lost either way. Raises ``NoSuchPlate``."""
        with self.database.writing() as connection:
            done = connection.execute("UPDATE plate SET deleted = ? WHERE id = ?", (int(deleted), plate))
            if not done.rowcount:
                raise NoSuchPlate(f"there is no plate {plate}")

    def keep(
        self,
        plate: int,
        label: str,
        reason: str,
        kind: str = "kept",
        files: dict[str, str] | None = None,
        *,
        made: str = "",
        state: int | None = None,
    ) -> Revision:
        """Keeps the plate as it stands as a revision.

        Args:
            plate: which one.
            label: short; it is cut into the piece.
            reason: why it is kept.
            kind: test-piece, hand-off or kept.
            files: SHA-256 of each file made from it, by name.
            made: its moment, when the files carry it already; without it, now.
            state: the state that the files were made of.

        Raises:
            Conflict: the plate is no longer in that state.
            LabelTaken: another revision of the plate has the label.
            NoSuchPlate: there is none.
        """
        with self.database.writing() as connection:
            if state is not None:
                _checked(connection, plate, state)
            text = _stored(connection, plate).text
            rows = connection.execute("SELECT number, label FROM revision WHERE plate = ?", (plate,)).fetchall()
            for row in rows:
                if row["label"].casefold() == label.casefold():
                    raise LabelTaken(f"the revision {row['number']} has the label {row['label']!r} already")
            number = max((row["number"] for row in rows), default=0) + 1
            kept = Revision(number, kind, label, reason, made or now(), text, files or {})
            connection.execute(
                "INSERT INTO revision VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                (plate, kept.number, kind, label, reason, kept.made, text, json.dumps(kept.files, sort_keys=True)),
            )
            return kept

    def revisions(self, plate: int) -> list[Revision]:
        """The kept revisions, oldest first. Raises ``NoSuchPlate``."""
        with self.database.reading() as connection:
            _stored(connection, plate)
            rows = connection.execute("SELECT * FROM revision WHERE plate = ? ORDER BY number", (plate,)).fetchall()
        return [_revision(row) for row in rows]

    def revision(self, plate: int, number: int) -> Revision:
        """One kept revision. Raises ``NoSuchPlate``."""
        with self.database.reading() as connection:
            row = connection.execute(
                "SELECT * FROM revision WHERE plate = ? AND number = ?", (plate, number)
            ).fetchone()
        if row is None:
            raise NoSuchPlate(f"the plate {plate} has no revision {number}")
        return _revision(row)

    def put_file(self, plate: int, name: str, kind: str, content: bytes) -> None:
        """Keeps a file beside the plate (a photo). Raises ``NoSuchPlate``."""
        with self.database.writing() as connection:
            _stored(connection, plate)
            connection.execute("INSERT OR REPLACE INTO blob VALUES (?, ?, ?, ?)", (plate, name, kind, content))

    def get_file(self, plate: int, name: str) -> tuple[str, bytes]:
        """Media type and content of a file beside the plate. Raises ``NoSuchPlate``."""
        with self.database.reading() as connection:
            row = connection.execute(
                "SELECT kind, content FROM blob WHERE plate = ? AND name = ?", (plate, name)
            ).fetchone()
        if row is None:
            raise NoSuchPlate(f"the plate {plate} has no file {name!r}")
        return row["kind"], row["content"]

    def profiles(self) -> dict[str, str]:
        """The shops' profiles by name, as JSON texts."""
        with self.database.reading() as connection:
            rows = connection.execute("SELECT name, content FROM profile ORDER BY name").fetchall()
        return {row["name"]: row["content"] for row in rows}

    def put_profile(self, name: str, content: str) -> None:
        """Keeps a shop's profile under its name."""
        with self.database.writing() as connection:
            connection.execute("INSERT OR REPLACE INTO profile VALUES (?, ?)", (name, content))

    def parts(self) -> dict[str, str]:
        """Parts of the user's own by name, as JSON texts."""
        with self.database.reading() as connection:
            rows = connection.execute("SELECT name, content FROM own_part ORDER BY name").fetchall()
        return {row["name"]: row["content"] for row in rows}

    def put_parts(self, parts: Mapping[str, str]) -> None:
        """Keeps parts under their names, all of them or none."""
        with self.database.writing() as connection:
            connection.executemany("INSERT OR REPLACE INTO own_part VALUES (?, ?)", list(parts.items()))

    def delete_part(self, name: str) -> bool:
        """Deletes a part; whether there was one."""
        with self.database.writing() as connection:
            return bool(connection.execute("DELETE FROM own_part WHERE name = ?", (name,)).rowcount)

    def history(self, plate: int) -> tuple[int, list[tuple[int, str]]]:
        """The step in force, and the number and words of every step, oldest first. Raises ``NoSuchPlate``."""
        with self.database.reading() as connection:
            row = connection.execute("SELECT step FROM plate WHERE id = ?", (plate,)).fetchone()
            if row is None:
                raise NoSuchPlate(f"there is no plate {plate}")
            steps = connection.execute(
                "SELECT number, label FROM step WHERE plate = ? ORDER BY number", (plate,)
            ).fetchall()
        return int(row["step"]), [(int(step["number"]), step["label"]) for step in steps]

    def go_to(self, plate: int, base: int, step: int) -> Stored:
        """Makes another step the one in force, as undos or redos would. Raises ``Conflict``, ``NoSuchPlate``."""
        with self.database.writing() as connection:
            now_at = _checked(connection, plate, base)
            there = connection.execute("SELECT 1 FROM step WHERE plate = ? AND number = ?", (plate, step)).fetchone()
            if not there:
                raise NoSuchPlate(f"the plate {plate} has no step {step}")
            if step != now_at:
                _advance(connection, plate, step)
            return _stored(connection, plate)


@lru_cache(maxsize=256)
def _fault(text: str) -> str:
    """What keeps a text from being a document, empty when nothing does; kept, since every list of plates asks it."""
    try:
        loads(text)
    except DocumentError as error:
        return str(error)
    return ""


def _checked(connection: sqlite3.Connection, plate: int, base: int) -> int:
    """The step in force, once it is sure that the plate is still in the state ``base``."""
    row = connection.execute("SELECT state, step FROM plate WHERE id = ?", (plate,)).fetchone()
    if row is None:
        raise NoSuchPlate(f"there is no plate {plate}")
    if row["state"] != base:
        raise Conflict(f"the plate has been changed elsewhere: it is at state {row['state']}, not {base}")
    return int(row["step"])


def _advance(connection: sqlite3.Connection, plate: int, step: int) -> None:
    connection.execute(
        "UPDATE plate SET state = state + 1, step = ?, changed = ? WHERE id = ?",
        (step, _later(connection, plate), plate),
    )


def _later(connection: sqlite3.Connection, plate: int) -> str:
    """This moment, and later than every other plate's: a clock that is set back changes no order."""
    moment = datetime.now(UTC)
    last = connection.execute("SELECT MAX(changed) FROM plate WHERE id != ?", (plate,)).fetchone()[0]
    with suppress(TypeError, ValueError, OverflowError):  # there is none, or it is damaged
        moment = max(moment, datetime.fromisoformat(last) + timedelta(microseconds=1))
    return moment.strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def _to_the_second(changed: object) -> str:
    return f"{changed:.19}Z" if isinstance(changed, str) else ""


def _stored(connection: sqlite3.Connection, plate: int) -> Stored:
    row = connection.execute(
        "SELECT plate.state, plate.step, step.document, step.label FROM plate"
        " JOIN step ON step.plate = plate.id AND step.number = plate.step WHERE plate.id = ?",
        (plate,),
    ).fetchone()
    if row is None:
        raise NoSuchPlate(f"there is no plate {plate}")
    following = connection.execute(
        "SELECT label FROM step WHERE plate = ? AND number = ?", (plate, row["step"] + 1)
    ).fetchone()
    return Stored(
        id=plate,
        state=row["state"],
        text=_text(row["document"]),
        can_undo=row["label"] if row["step"] > 1 else "",
        can_redo=following["label"] if following else "",
    )


def _revision(row: sqlite3.Row) -> Revision:
    try:
        files = strict_json.parse(row["files"])
    except DocumentError:
        files = None
    if not isinstance(files, dict) or not all(isinstance(row[key], str) for key in ("kind", "label", "document")):
        raise StoreError(
            f"the revision {row['number']} is damaged in the store; put a backup of the store in its place",
            Cause.DAMAGED,
        )
    return Revision(row["number"], row["kind"], row["label"], row["reason"], row["made"], row["document"], files)


def _text(value: object) -> str:
    """A document's text; what is none in a damaged store is a text that says so when it is read."""
    return value if isinstance(value, str) else ""
