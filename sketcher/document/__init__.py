"""What a plate is: models, validation, JSON Schema, upgrades."""

from sketcher.document.files import (
    dumps,
    from_plain,
    loads,
    read,
    schema,
    to_plain,
    with_changes,
    worded,
    write,
)
from sketcher.document.kinds import COLLECTIONS
from sketcher.document.models import VERSION, Document, items
from sketcher.document.strict_json import DocumentError, Fault

__all__ = [
    "COLLECTIONS",
    "VERSION",
    "Document",
    "DocumentError",
    "Fault",
    "dumps",
    "from_plain",
    "items",
    "loads",
    "read",
    "schema",
    "to_plain",
    "with_changes",
    "worded",
    "write",
]
