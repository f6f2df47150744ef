"""The shape of everything, built once per document."""

from sketcher.geometry.shapes import Shapes, build

__all__ = ["Shapes", "build"]
