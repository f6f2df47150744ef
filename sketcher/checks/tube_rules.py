"""Are the tubes right: bends that the size bears, straights, clearance in space, how they land, what strains them.

Only tubes of which the document says the size, the material or the corners are looked at; of others nothing is known.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sketcher.checks.running import rules
from sketcher.checks.scene import ASIDE, Scene, heights_and_parts_of
from sketcher.checks.tube_room import SIDES, on_the_plate, to_the_case
from sketcher.document.remembered import Remembered
from sketcher.document.tubes import Course
from sketcher.findings import PRACTICE, Change, Finding, Fix, Rule, mm
from sketcher.reference import tube_sizes as sizes
from sketcher.reference.tables import UnknownEntry
from sketcher.tubes.measures import LEAN_DEG, Gap, gaps, landing_deg, plan_of, reach_mm, strain_mpa
from sketcher.tubes.runs import Run, runs
from sketcher.tubes.surroundings import Body, bodies

_OWN = "own assumption: no standard or handbook states it"


def _described(scene: Scene) -> list[Run]:
    document = scene.document
    courses: list[Course] = [*document.loop.tubes, *(port.tube for port in document.ports if port.tube is not None)]
    if document.loop.tube_size is None and not any(c.size or c.material or c.points for c in courses):
        return []
    return [run for run in runs(document, scene.shapes) if run.described]


@rules(
    Rule("tube-size-unknown", "fits", "Tube sizes are in the table", None, "",
         "A name that nobody knows has no bend radius and no bore.", PRACTICE),
    reads=("ports", "boards", "devices"),
)  # fmt: skip
def named_sizes(scene: Scene) -> Iterator[Finding]:
    """Names of sizes that the table does not have."""
    document = scene.document
    named = [("", document.loop.tube_size)]
    named += [(tube.id, tube.size) for tube in document.loop.tubes]
    named += [(port.id, port.tube.size) for port in document.ports if port.tube is not None]
    for id_, name in named:
        if name is None:
            continue
        try:
            sizes.size(name)
        except UnknownEntry:
            yield Finding(
                "tube-size-unknown", "warning", (id_,) if id_ else (), f"No tube size is called {name!r}.",
                f"Choose one of the table ({', '.join(sizes.size_names()[:4])} …), or type diameters and material.",
                at=scene.place(id_) if id_ else None,
            )  # fmt: skip


@rules(
    Rule("tube-bend-tight", "fits", "No tube is bent tighter than it bears", None, "mm",
         "Bent tighter, a tube kinks, thins or whitens.", "reference/data/tubes.toml"),
    Rule("tube-cannot-bend", "fits", "No tube is bent that cannot be", None, "",
         "Glass is not bent on site: straight runs and elbow fittings only.", PRACTICE),
    Rule("tube-straight-short", "fits", "Straights between bends and at fittings are long enough", 1.0, "diameters",
         "A bend that begins at once cannot be held while it is formed, and does not enter its fitting straight.",
         PRACTICE),
    reads=("ports", "boards", "devices"),
)  # fmt: skip
def bends(scene: Scene) -> Iterator[Finding]:
    """Bends and the straights between them."""
    limit = scene.limit("tube-straight-short")
    for run in _described(scene):
        line, material = run.line, run.material
        if material is not None and not material.bends and line.bends:
            yield Finding(
                "tube-cannot-bend", "error", (run.id,),
                f"{_sentence(run)} is of {material.name} and has {len(line.bends)} bend(s).",
                "Run it straight, with elbow fittings, or choose another material.", at=plan_of(line.bends[0].corner),
            )  # fmt: skip
            continue
        tight = [b for b in line.bends if run.least_radius_mm is not None and b.radius < run.least_radius_mm - 0.01]
        if tight:
            worst = min(tight, key=lambda bend: bend.radius)
            squeezed = (
                "" if worst.fits else f"; there is room for no more between its corners (wanted {worst.wanted:.0f})"
            )
            yield Finding(
                "tube-bend-tight", "error", (run.id,),
                f"{_sentence(run)} bends with a radius of {mm(worst.radius)} (minimum {mm(run.least_radius_mm or 0.0)})"
                f"{squeezed}.",
                "Move its corners apart, or choose a size or material that bends tighter.",
                worst.radius, run.least_radius_mm, "mm", at=plan_of(worst.corner), fix=_eased(scene, run),
            )  # fmt: skip
        if material is None or not material.rigid or not line.bends:
            continue
        least = limit * run.outer_mm
        short = min(range(len(line.straights)), key=lambda i: line.straights[i])
        length = line.straights[short]
        if length < least - 0.01:
            where = "at a fitting" if short in (0, len(line.straights) - 1) else "between two bends"
            corner = line.bends[min(short, len(line.bends) - 1)].corner
            yield Finding(
                "tube-straight-short", "warning", (run.id,),
                f"{_sentence(run)} is straight for only {mm(length)} {where} (minimum {mm(least)}).",
                "Move its corners apart.", length / run.outer_mm, limit, "diameters", at=plan_of(corner),
            )  # fmt: skip


def _eased(scene: Scene, run: Run) -> Fix | None:
    """The tube's own radius, where it is given and is less than the size bears, made what the size bears."""
    least, given = run.least_radius_mm, run.course.bend_radius_mm
    if least is None or given is None or given >= least:
        return None
    tubes = [tube.id for tube in scene.document.loop.tubes]
    place = f"/ports/{scene.numbers[run.id][1]}/tube" if run.kind == "drop" else f"/loop/tubes/{tubes.index(run.id)}"
    return Fix(f"Bend {run.name} with {mm(least)}", (Change(f"{place}/bend_radius_mm", least),))


def _sentence(run: Run) -> str:
    return run.name[0].upper() + run.name[1:]


@rules(
    Rule("tube-clearance", "fits",
         "Tubes keep clear of boards, cards, devices, obstacles, fittings, screw heads, the case and each other", 3.0,
         "mm", "What touches wears through, and hides where it leaks.", PRACTICE),
    Rule("tube-reach", "fits", "A hand or a spanner gets at the fittings on devices", 8.0, "mm",
         "A fitting that cannot be turned cannot be tightened.", PRACTICE),
    reads=("ports", "boards", "devices", "holes", "cutouts"),
)  # fmt: skip
def clearances(scene: Scene) -> Iterable[Finding]:
    """How near each tube comes to other things in space, and the room around its fittings."""
    return _known.of(*heights_and_parts_of(scene.document, _NOT_OF_TUBES), lambda: tuple(_clearances(scene)))


#: What no tube comes near: it is inside the plate, or on the drawing alone.
_NOT_OF_TUBES = ASIDE | {"channels", "branches", "pockets", "keep_outs", "seal", "shop"}
_known: Remembered[tuple[Finding, ...]] = Remembered(most=8)


def _clearances(scene: Scene) -> Iterator[Finding]:
    described = _described(scene)
    if not described:
        return
    document = scene.document
    around: list[Body] = list(bodies(document, scene.shapes))
    screwed = on_the_plate(scene)
    everyone = runs(document, scene.shapes)
    everyone = [next((d for d in described if d.id == run.id and d.kind == run.kind), run) for run in everyone]
    clear, room = scene.limit("tube-clearance"), scene.limit("tube-reach")
    closest = min(clear, scene.limit("fittings-touch"))  # as two fittings are held apart
    on_it = {body.id: f"the {body.kind} of {body.id}" for body in screwed}
    nearest: dict[frozenset[str], tuple[Gap, Run, str]] = {}
    for run in described:
        own = {end.ref for end in (run.start, run.end)}
        others = [body for body in screwed if body.id not in own]
        rows = [(gap, _THE.get(gap.other, gap.other)) for gap in (*gaps(document, run, around, everyone, clear),
                                                                  *to_the_case(scene, run, clear))]  # fmt: skip
        rows += [(gap, on_it[gap.other]) for gap in gaps(document, run, others, (), closest)]
        for gap, what in rows:
            pair = frozenset((run.id, gap.other))
            if pair not in nearest or gap.mm < nearest[pair][0].mm:
                nearest[pair] = gap, run, what
    for gap, run, what in nearest.values():
        touches = gap.mm <= 1e-6
        yield Finding(
            "tube-clearance", "error" if touches else "warning", (run.id, *_named(gap.other)),
            f"{_sentence(run)} runs into {what}." if touches
            else f"{_sentence(run)} passes {what} at {mm(gap.mm)} (minimum {mm(clear)}).",
            "Move its corners, or let a course be proposed.", max(gap.mm, 0.0) if touches else gap.mm, clear, "mm",
            at=plan_of(gap.at),
        )  # fmt: skip
    for run in described:
        for end in (run.start, run.end):
            beside = reach_mm(document, run, end, around, everyone, room)
            if beside is not None and beside.mm < room - 1e-6:
                yield Finding(
                    "tube-reach", "warning", (run.id, *_named(beside.other)),
                    f"Beside the fitting at {end.ref}, {beside.other} leaves {mm(max(beside.mm, 0.0))}; a hand or a "
                    f"spanner needs about {mm(room)}.",
                    "Turn the device, or fit this tube before what is beside it.", max(beside.mm, 0.0), room, "mm",
                    at=plan_of(end.at),
                )  # fmt: skip


#: What has no id, as it stands in a sentence.
_THE = {"plate": "the plate", **{side: f"the {side}" for side in SIDES}}


def _named(other: str) -> tuple[str, ...]:
    return () if other in _THE else (other,)


@rules(
    Rule("tube-landing", "fits", "Rigid tubes land in line with their fittings", LEAN_DEG, "°",
         "A rigid tube that enters at an angle presses its O-ring on one side and leaks.", _OWN),
    Rule("tube-strain", "holds", "Rigid tubes are not strained when the board warms or the case is carried", None,
         "MPa", "Acrylic and glass crack years later at stresses that copper does not feel.",
         "Kellogg, Design of Piping Systems, 1956; reference/data/tubes.toml"),
    reads=("ports", "boards", "devices"),
)  # fmt: skip
def landings(scene: Scene) -> Iterator[Finding]:
    """How rigid tubes enter their fittings, and what strains them."""
    limit = scene.limit("tube-landing")
    loop = scene.document.loop
    for run in _described(scene):
        if run.material is not None and not run.material.rigid:
            continue
        for end in (run.start, run.end):
            angle = landing_deg(run, end)
            if angle is not None and angle > limit + 1e-6:
                yield Finding(
                    "tube-landing", "warning", (run.id,),
                    f"{_sentence(run)} enters the fitting at {end.ref} {angle:.1f}° out of line (maximum {limit:g}°).",
                    "Move its first corner into line with the port, move the port, or use an elbow.",
                    angle, limit, "°", at=plan_of(end.at),
                )  # fmt: skip
        stress = strain_mpa(run, loop.water_limit_c, loop.carry_shift_mm)
        bears = run.material.stress_mpa if run.material is not None else 0.0
        if bears and stress > bears:
            yield Finding(
                "tube-strain", "warning", (run.id,),
                f"{_sentence(run)} would be strained to about {stress:.1f} MPa between its ports when it warms or "
                f"the case is carried ({run.material.name if run.material else ''} bears {bears:g} for long).",
                "Make it longer, give it a bend, or use a soft tube here.", stress, bears, "MPa",
                at=plan_of((run.start.at + run.end.at) / 2),
            )  # fmt: skip
