"""Readers that are not the writer: a group-code reader of our own, GDAL/OGR, and poppler.

The group-code reader follows the DXF reference (group codes 0, 5, 8, 10, 20, 40, 42, 70; bulge under LWPOLYLINE) and
shares nothing with ezdxf, which writes the files.
"""

from __future__ import annotations

import json
import math
import os
import shutil
import subprocess
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]


def tool(name: str, package: str) -> str:
    """A program of the system; without it the test skips, or fails where ``CI`` is set."""
    found = shutil.which(name)
    if found is None:
        words = f"no {name} on this machine: it is in Debian's package {package}"
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    return found


@dataclass
class Read:
    """One entity as it stands in the file."""

    kind: str
    layer: str = ""
    handle: str = ""
    points: list[list[float]] = field(default_factory=list)  # x, y, bulge
    radius: float = 0.0
    closed: bool = False
    tags: list[tuple[int, str]] = field(default_factory=list)

    @property
    def centre(self) -> tuple[float, float]:
        return (self.points[0][0], self.points[0][1])

    def ring(self, step: float = 0.02) -> list[tuple[float, float]]:
        """Points along the contour; arcs by the bulge's definition, a point every ``step`` radians."""
        if self.kind == "CIRCLE":
            (x, y), r = self.centre, self.radius
            count = math.ceil(math.tau / step)
            return [
                (x + r * math.cos(math.tau * k / count), y + r * math.sin(math.tau * k / count)) for k in range(count)
            ]
        found = []
        rows = self.points + ([self.points[0]] if self.closed else [])
        for (x0, y0, bulge), (x1, y1, _) in pairwise(rows):
            found.append((x0, y0))
            if bulge:
                angle = 4 * math.atan(bulge)
                # The centre lies on the chord's normal; chord / 2 = r sin(angle / 2).
                chord = math.hypot(x1 - x0, y1 - y0)
                r = chord / (2 * math.sin(abs(angle) / 2))
                lift = r * math.cos(angle / 2) * (1 if bulge > 0 else -1)
                cx = (x0 + x1) / 2 - lift * (y1 - y0) / chord
                cy = (y0 + y1) / 2 + lift * (x1 - x0) / chord
                count = max(2, math.ceil(abs(angle) / step))
                for k in range(1, count):
                    c, s = math.cos(angle * k / count), math.sin(angle * k / count)
                    found.append((cx + c * (x0 - cx) - s * (y0 - cy), cy + s * (x0 - cx) + c * (y0 - cy)))
        if not self.closed:
            found.append((rows[-1][0], rows[-1][1]))
        return found


def tags(data: bytes) -> list[tuple[int, str]]:
    """Group code and value of every pair of lines."""
    lines = data.decode("utf-8").splitlines()
    return [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=True)]


def header(data: bytes) -> dict[str, str]:
    """The header's variables with a single value."""
    found, name = {}, ""
    for code, value in tags(data):
        if code == 9:
            name = value
        elif name:
            found.setdefault(name, value)
        if (code, value) == (0, "ENDSEC"):
            break
    return found


def entities(data: bytes) -> list[Read]:
    """Every entity of the ENTITIES section, in the order of the file."""
    found: list[Read] = []
    inside = False
    last = (0, "")
    for code, value in tags(data):
        if last == (0, "SECTION") and code == 2:
            inside = value == "ENTITIES"
        elif inside and code == 0:
            if value == "ENDSEC":
                break
            found.append(Read(value))
        elif inside and found:
            entity = found[-1]
            entity.tags.append((code, value))
            if code == 8:
                entity.layer = value
            elif code == 5:
                entity.handle = value
            elif code in (10, 11) and entity.kind in ("LWPOLYLINE", "CIRCLE", "LINE"):
                entity.points.append([float(value), 0.0, 0.0])
            elif code in (20, 21) and entity.points:
                entity.points[-1][1] = float(value)
            elif code == 42:
                entity.points[-1][2] = float(value)
            elif code == 40 and entity.kind == "CIRCLE":
                entity.radius = float(value)
            elif code == 70 and entity.kind == "LWPOLYLINE":
                entity.closed = bool(int(value) & 1)
        last = (code, value)
    return found


def ogr(path: Path) -> list[dict[str, Any]]:
    """The features GDAL/OGR reads from a DXF file: properties, and coordinates to the last digit."""
    program = tool("ogr2ogr", "gdal-bin")
    out = path.with_suffix(".ogr.json")
    out.unlink(missing_ok=True)
    done = subprocess.run(
        [program, "-f", "GeoJSON", str(out), str(path), "-lco", "COORDINATE_PRECISION=9", "-lco", "RFC7946=NO"],
        check=True, capture_output=True, text=True, env={**os.environ, "OGR_ARC_STEPSIZE": "1"},
    )  # fmt: skip
    assert "ERROR" not in done.stderr, done.stderr
    return list(json.loads(out.read_text(encoding="utf-8"))["features"])


def rendered(pdf: bytes, folder: Path, page: int, dpi: int) -> Any:
    """A page as poppler draws it, in grey: an array (rows, columns), 0 black."""
    import numpy as np
    from PIL import Image

    program = tool("pdftoppm", "poppler-utils")
    source = folder / "sheet.pdf"
    source.write_bytes(pdf)
    target = folder / f"page-{page}-{dpi}"
    subprocess.run(
        [program, "-r", str(dpi), "-gray", "-f", str(page), "-l", str(page), "-singlefile", str(source), str(target)],
        check=True, capture_output=True,
    )  # fmt: skip
    return np.asarray(Image.open(target.with_suffix(".pgm")))
