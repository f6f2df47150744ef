"""Body, lid and both together as solids, with exact planes, cylinders and cones: STEP AP242, and STL for looking.

The kernel is an optional extra (``solid``). Solids count from the datum, z from the plate's underside.
"""

from __future__ import annotations

import re
import tempfile
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path as File
from typing import Any

from sketcher.document import Document
from sketcher.export.recesses import Recessed, recessed
from sketcher.export.registry import SolidName
from sketcher.export.setups import datum_of
from sketcher.export.sheet import ExportError
from sketcher.geometry import Shapes
from sketcher.geometry.outline_contours import Contour
from sketcher.geometry.path import Path, Point
from sketcher.geometry.regions import as_contour
from sketcher.strength.seal import design_seal

#: A recess reaches so far beyond the face that it opens to, mm: no face of the tool lies in a face of the part.
_BEYOND_MM = 1.0
#: How far a mesh may leave the true surface, mm and radians.
MESH_MM, MESH_RAD = 0.05, 0.3
#: The kernel's settings and counters belong to the whole process.
_WORKING = threading.Lock()
HOW_TO_GET = "solids need the extra 'solid': run run.py once more, or pip install 'plate-sketcher[solid]'"


def available() -> bool:
    """Whether the kernel is there."""
    from importlib.util import find_spec

    return find_spec("OCP") is not None


@contextmanager
def working() -> Iterator[None]:
    """The kernel for one caller at a time, and silent."""
    with _WORKING:
        quiet()
        yield


def solid_bytes(document: Document, shapes: Shapes, name: SolidName, suffix: str, label: str = "") -> bytes:
    """A solid as the bytes of a STEP (AP242) or STL file; the same bytes for the same plate.

    Raises:
        ExportError: the kernel is not installed, an outline crosses itself, or the kernel finds the solid not valid.
    """
    if not available():
        raise ExportError(HOW_TO_GET)
    body, lid = recessed(document, shapes, design_seal(document, shapes))
    wanted = {"body": [body], "lid": [lid], "assembly": [body, lid]}[name]
    datum = datum_of(shapes)
    with working():
        made = [(part, build_part(part, datum)) for part in wanted]
        if suffix == "stl":
            return _stl([solid for _, solid in made])
        return _step(made, name, datum, label)


def all_solids(document: Document, shapes: Shapes, label: str) -> dict[str, bytes]:
    """The files of a package: each part is built once. Errors as ``solid_bytes``."""
    parts = recessed(document, shapes, design_seal(document, shapes))
    datum = datum_of(shapes)
    with working():
        body, lid = ((part, build_part(part, datum)) for part in parts)
        return {
            "body.step": _step([body], "body", datum, label),
            "lid.step": _step([lid], "lid", datum, label),
            "assembly.step": _step([body, lid], "assembly", datum, label),
            # Last: meshing leaves triangles on the solids.
            "assembly.stl": _stl([body[1], lid[1]]),
        }


def quiet() -> None:
    """Takes away the kernel's printers: it would write its progress to the terminal."""
    from OCP.Message import Message

    messenger = Message.DefaultMessenger_s()
    for printer in list(messenger.Printers()):
        messenger.RemovePrinter(printer)


def build_part(part: Recessed, datum: Point) -> Any:
    """The kernel's solid of a part.

    Raises:
        ExportError: it falls into pieces, nothing is left of it, or it is not valid; the message names the items.
    """
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.collections import List_TopoDS_Shape
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    blank = _prism((part.outline,), part.part.low, part.part.high, datum)
    tools = [(prism.item, _prism(prism.rings, *_open(part, prism.low, prism.high), datum)) for prism in part.prisms]
    tools += [(cone.item, shape) for cone in part.cones for shape in _cones(part, cone, datum)]
    tools += [(barrel.item, _barrel(barrel, datum)) for barrel in part.barrels]
    result = blank
    if tools:
        cut = BRepAlgoAPI_Cut()
        arguments, cutters = List_TopoDS_Shape(), List_TopoDS_Shape()
        arguments.Append(blank)
        for _, tool in tools:
            cutters.Append(tool)
        cut.SetArguments(arguments)
        cut.SetTools(cutters)
        cut.Build()
        if not cut.IsDone():
            raise ExportError(f"{_what(part)} cannot be made a solid; the kernel stops at {_culprit(blank, tools)}")
        joined = ShapeUpgrade_UnifySameDomain(cut.Shape(), True, True, False)
        joined.Build()
        result = joined.Shape()
    found = solids_of(result)
    if len(found) != 1:
        pieces = "nothing is left of it" if not found else f"it falls into {len(found)} pieces"
        raise ExportError(f"{_what(part)} cannot be made a solid: {pieces}; look for what crosses its outline")
    if not BRepCheck_Analyzer(found[0]).IsValid():
        raise ExportError(f"{_what(part)} is no valid solid; the kernel stops at {_culprit(blank, tools)}")
    return found[0]


def _what(part: Recessed) -> str:
    return f"the {part.part.name.lower()}"


def _culprit(blank: Any, tools: Sequence[tuple[str, Any]]) -> str:
    """The first item whose cut alone does not give a valid solid."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepCheck import BRepCheck_Analyzer

    for item, tool in tools:
        cut = BRepAlgoAPI_Cut(blank, tool)
        if not cut.IsDone() or not BRepCheck_Analyzer(cut.Shape()).IsValid():
            return item
    return "two items that meet"


def solids_of(shape: Any) -> list[Any]:
    """The solids in a shape."""
    from OCP.TopAbs import TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    found, walk = [], TopExp_Explorer(shape, TopAbs_SOLID)
    while walk.More():
        found.append(TopoDS.Solid(walk.Current()))
        walk.Next()
    return found


def faces_of(shape: Any) -> list[Any]:
    """The faces of a shape, in its own order."""
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    found, walk = [], TopExp_Explorer(shape, TopAbs_FACE)
    while walk.More():
        found.append(TopoDS.Face(walk.Current()))
        walk.Next()
    return found


def volume_of(solid: Any) -> float:
    """The kernel's volume of a solid, mm³."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(solid, properties)
    return float(properties.Mass())


def fine_volume_of(solid: Any) -> float:
    """The same, summed finely enough for what another program wrote with free-form edges, mm³."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(solid, properties, 1e-8)
    return float(properties.Mass())


def _open(part: Recessed, low: float, high: float) -> tuple[float, float]:
    """A recess's heights, lengthened where it opens to a face."""
    if low <= part.part.low + 1e-6:
        low = part.part.low - _BEYOND_MM
    if high >= part.part.high - 1e-6:
        high = part.part.high + _BEYOND_MM
    return low, high


def _prism(rings: Sequence[Path], low: float, high: float, datum: Point) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Vec
    from OCP.TopoDS import TopoDS

    outer, *islands = rings
    plane = gp_Pln(gp_Pnt(0, 0, low), gp_Dir(0, 0, 1))
    face = BRepBuilderAPI_MakeFace(plane, _wire(as_contour(outer.counter_clockwise()), low, datum), True)
    for island in islands:
        wire = _wire(as_contour(island.counter_clockwise()), low, datum)
        face.Add(TopoDS.Wire(wire.Reversed()))
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0, 0, high - low)).Shape()


def _wire(contour: Contour, z: float, datum: Point) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt

    def place(point: Point) -> Any:
        return gp_Pnt(point[0] - datum[0], point[1] - datum[1], z)

    made = BRepBuilderAPI_MakeWire()
    if contour.round is not None:
        centre, radius = contour.round
        whole = gp_Circ(gp_Ax2(place(centre), gp_Dir(0, 0, 1)), radius)
        made.Add(BRepBuilderAPI_MakeEdge(whole).Edge())
        return made.Wire()
    for segment in contour.path.segments:
        start, end = place(segment.start), place(segment.end)
        if segment.straight:
            made.Add(BRepBuilderAPI_MakeEdge(start, end).Edge())
        else:
            middle = place(segment.at(segment.length / 2))
            made.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(start, middle, end).Value()).Edge())
    return made.Wire()


def _cones(part: Recessed, cone: Any, datum: Point) -> list[Any]:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    x, y = cone.at[0] - datum[0], cone.at[1] - datum[1]
    up = gp_Dir(0, 0, 1)
    axis = gp_Ax2(gp_Pnt(x, y, cone.low), up)
    found = [BRepPrimAPI_MakeCone(axis, cone.low_radius, cone.high_radius, cone.high - cone.low).Shape()]
    # A disc beyond the face, so that the cone's mouth does not end in it.
    if cone.high >= part.part.high - 1e-6 and cone.high_radius > cone.low_radius:
        axis = gp_Ax2(gp_Pnt(x, y, cone.high), up)
        found.append(BRepPrimAPI_MakeCylinder(axis, cone.high_radius, _BEYOND_MM).Shape())
    elif cone.low <= part.part.low + 1e-6 and cone.low_radius > cone.high_radius:
        axis = gp_Ax2(gp_Pnt(x, y, cone.low - _BEYOND_MM), up)
        found.append(BRepPrimAPI_MakeCylinder(axis, cone.low_radius, _BEYOND_MM).Shape())
    return found


def _barrel(barrel: Any, datum: Point) -> Any:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    start = gp_Pnt(barrel.start[0] - datum[0], barrel.start[1] - datum[1], barrel.level)
    axis = gp_Ax2(start, gp_Dir(barrel.heading[0], barrel.heading[1], 0.0))
    return BRepPrimAPI_MakeCylinder(axis, barrel.radius, barrel.length).Shape()


def _named(solid: Any, part: Recessed, datum: Point) -> list[tuple[Any, str]]:
    """The walls of threaded holes with the threads' designations."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_Cylinder

    found = []
    for face in faces_of(solid):
        surface = BRepAdaptor_Surface(face)
        if surface.GetType() != GeomAbs_Cylinder:
            continue
        cylinder = surface.Cylinder()
        axis, radius = cylinder.Axis(), cylinder.Radius()
        place, direction = axis.Location(), axis.Direction()
        upright = abs(direction.Z()) > 0.5
        for thread in part.threads:
            x, y = thread.at[0] - datum[0], thread.at[1] - datum[1]
            if thread.upright != upright or abs(thread.radius - radius) > 1e-6:
                continue
            if upright:
                off = max(abs(place.X() - x), abs(place.Y() - y))
            else:
                along = (x - place.X()) * direction.X() + (y - place.Y()) * direction.Y()
                off = max(
                    abs(place.X() + along * direction.X() - x), abs(place.Y() + along * direction.Y() - y),
                    abs(place.Z() - thread.level),
                )  # fmt: skip
            if off < 1e-6:
                found.append((face, thread.name))
                break
    return found


def _step(made: Sequence[tuple[Recessed, Any]], name: SolidName, datum: Point, label: str) -> bytes:
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.Interface import Interface_Static
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_StepModelType
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    document = TDocStd_Document(TCollection_ExtendedString("plate"))
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())

    def name_it(at: Any, words: str) -> None:
        TDataStd_Name.Set_s(at, TCollection_ExtendedString(words))

    whole = None
    if name == "assembly":
        whole = tool.NewShape()
        name_it(whole, f"Plate {label}".strip())
    for part, solid in made:
        place = tool.AddShape(solid, False)
        name_it(place, f"{part.part.name.capitalize()} {label}".strip())
        for face, words in _named(solid, part, datum):
            name_it(tool.AddSubShape(place, face), words)
        if whole is not None:
            name_it(tool.AddComponent(whole, place, TopLoc_Location()), part.part.name.capitalize())
    tool.UpdateAssemblies()
    writer = STEPCAFControl_Writer()
    # Curves are given in space alone: a second description in each surface would double the file.
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    Interface_Static.SetCVal_s("write.step.schema", "AP242DIS")
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    Interface_Static.SetIVal_s("write.stepcaf.subshapes.name", 1)
    writer.SetNameMode(True)
    with tempfile.TemporaryDirectory() as folder:
        file = File(folder) / "plate.step"
        writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
        if writer.Write(str(file)) != IFSelect_RetDone:
            raise ExportError("the STEP file could not be written; make room on the disk")
        return _timeless(file.read_text(encoding="utf-8", errors="replace"), name)


def _timeless(text: str, name: SolidName) -> bytes:
    """The file without the day, the writer's version and its counters: the same bytes for the same plate."""
    text = re.sub(
        r"FILE_NAME\(.*?\);",
        f"FILE_NAME('{name}.step','1970-01-01T00:00:00',(''),(''),'plate-sketcher','plate-sketcher','');",
        text, count=1, flags=re.S,
    )  # fmt: skip
    text = re.sub(r"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\(')[^']*'", _counted(), text)
    return text.replace("\r\n", "\n").encode("utf-8")


def _counted() -> Any:
    """Numbers for what the kernel counts through the whole process."""
    count = 0

    def number(match: re.Match[str]) -> str:
        nonlocal count
        count += 1
        return f"{match[1]}{count}'"

    return number


def _stl(made: Sequence[Any]) -> bytes:
    from OCP.BRep import BRep_Builder
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.StlAPI import StlAPI_Writer
    from OCP.TopoDS import TopoDS_Compound

    builder, whole = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(whole)
    for solid in made:
        BRepMesh_IncrementalMesh(solid, MESH_MM, False, MESH_RAD, False)
        builder.Add(whole, solid)
    writer = StlAPI_Writer()
    writer.ASCIIMode = False
    with tempfile.TemporaryDirectory() as folder:
        file = File(folder) / "plate.stl"
        if not writer.Write(whole, str(file)):
            raise ExportError("the STL file could not be written; make room on the disk")
        data = file.read_bytes()
    # The first 80 bytes are free text in which the writer may leave what it likes.
    return b"plate-sketcher, mm".ljust(80, b" ") + data[80:]
