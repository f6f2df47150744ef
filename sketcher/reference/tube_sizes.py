"""Sizes of tube by material, without makers: bend radii, expansion, strength, how deep they enter a fitting."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from . import tables


@dataclass(frozen=True)
class TubeMaterial:
    """What a tube is made of.

    Attributes:
        bends: whether it is bent on site.
        rigid: whether it keeps its shape.
        radius_diameters: least centreline radius, in outer diameters.
        straight_diameters: least straight length between bends and at fittings, in outer diameters.
        expansion_per_k, modulus_gpa, stress_mpa: expansion, elasticity and lasting stress that it bears.
        roughness_um: sand roughness inside.
        shaping_c: the range in which it is formed; none when it is formed cold or not at all.
        sources: of all that, by what they are for.
    """

    name: str
    bends: bool
    rigid: bool
    radius_diameters: float
    straight_diameters: float
    expansion_per_k: float
    modulus_gpa: float
    stress_mpa: float
    roughness_um: float
    density_g_cm3: float
    shaping_c: tuple[float, float] | None
    sources: dict[str, str]


@dataclass(frozen=True)
class TubeSize:
    """One size of tube, mm. ``radius_mm`` is its least bend radius on the centreline, 0 when it is not bent."""

    name: str
    material: TubeMaterial
    outer_mm: float
    inner_mm: float
    insertion_mm: float
    radius_mm: float
    stock_mm: tuple[float, ...]
    source: str


@cache
def _materials() -> dict[str, TubeMaterial]:
    found = {}
    for row in tables.rows("tubes", "material"):
        shaping = row.get("shaping_c")
        found[row["name"]] = TubeMaterial(
            name=row["name"],
            bends=row["bends"],
            rigid=row["rigid"],
            shaping_c=(tables.number(shaping[0]), tables.number(shaping[1])) if shaping else None,
            sources={key.removesuffix("_source"): text for key, text in row.items() if key.endswith("_source")},
            **{
                key: tables.number(row[key])
                for key in ("radius_diameters", "straight_diameters", "expansion_per_k", "modulus_gpa", "stress_mpa",
                            "roughness_um", "density_g_cm3")
            },
        )  # fmt: skip
    return found


@cache
def _sizes() -> dict[str, TubeSize]:
    found = {}
    for row in tables.rows("tubes", "size"):
        material = _materials()[row["material"]]
        outer = tables.number(row["outer_mm"])
        radius = tables.number(row["radius_mm"]) if "radius_mm" in row else material.radius_diameters * outer
        found[row["name"]] = TubeSize(
            name=row["name"],
            material=material,
            outer_mm=outer,
            inner_mm=tables.number(row["inner_mm"]),
            insertion_mm=tables.number(row["insertion_mm"]),
            radius_mm=radius,
            stock_mm=tuple(tables.number(length) for length in row["stock_mm"]),
            source=row["source"],
        )
    return found


def material(name: str) -> TubeMaterial:
    """The material called ``name``. Raises UnknownEntry."""
    return _materials()[tables.pick("tube material", name, _materials())]


def size_names() -> tuple[str, ...]:
    """Names of the sizes."""
    return tuple(_sizes())


def size(name: str) -> TubeSize:
    """The size called ``name``, for example ``"acrylic 13/10"``. Raises UnknownEntry."""
    return _sizes()[tables.pick("tube size", name, _sizes())]
