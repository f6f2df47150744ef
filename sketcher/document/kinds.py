"""The kinds of item a document holds."""

from __future__ import annotations

#: The lists of a document whose members are items, with the kind each holds and the letter its ids begin with.
COLLECTIONS: dict[str, tuple[str, str]] = {
    "boards": ("board", "B"),
    "devices": ("device", "D"),
    "ports": ("port", "P"),
    "branches": ("branch", "J"),
    "channels": ("channel", "C"),
    "cutouts": ("cutout", "K"),
    "pockets": ("pocket", "R"),
    "holes": ("hole", "H"),
    "keep_outs": ("keep-out", "Z"),
    "groups": ("group", "G"),
}
