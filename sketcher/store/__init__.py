"""Plates, their histories and their revisions in SQLite."""

from sketcher.store.database import Database, StoreError
from sketcher.store.plates import Conflict, Listed, NoSuchPlate, Plates, Revision, Stored

__all__ = ["Conflict", "Database", "Listed", "NoSuchPlate", "Plates", "Revision", "StoreError", "Stored"]
