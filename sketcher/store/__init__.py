"""Plates, their histories and their revisions in SQLite."""

from sketcher.store.database import Database, StoreError
from sketcher.store.plates import Conflict, LabelTaken, Listed, NoSuchPlate, Plates, Revision, Stored

__all__ = ["Conflict", "Database", "LabelTaken", "Listed", "NoSuchPlate", "Plates", "Revision", "StoreError", "Stored"]
