"""Plates, their histories and their revisions in SQLite."""

from sketcher.store.database import Cause, Database, StoreError
from sketcher.store.plates import Conflict, LabelTaken, Listed, NoSuchPlate, Plates, Revision, Stored

__all__ = [
    "Cause",
    "Conflict",
    "Database",
    "LabelTaken",
    "Listed",
    "NoSuchPlate",
    "Plates",
    "Revision",
    "StoreError",
    "Stored",
]
