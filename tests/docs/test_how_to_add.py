"""DEVELOPERS.md's "How to add" is tried: recipes are followed on a copy of the tree, and what a recipe says to keep in
step fails here when it was forgotten.

That every key has its control in the page, ``tests/browser/test_every_key.py`` holds."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import typing
from pathlib import Path

import pytest

from sketcher.checks import all_rules
from sketcher.document import from_plain
from sketcher.document.hardware import DeviceKind
from sketcher.document.kinds import KINDS, members
from sketcher.drawing.plan import plan
from sketcher.export import kinds
from sketcher.geometry import build
from sketcher.geometry.gaps import footprint
from sketcher.server.page_format import _LISTED

ROOT = Path(__file__).parents[2]


def text(*patterns: str) -> str:
    return "\n".join(p.read_text("utf-8") for pattern in patterns for p in sorted(ROOT.glob(pattern)))


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    for folder in ("sketcher", "static", "examples", "docs"):
        shutil.copytree(ROOT / folder, tmp_path / folder, ignore=shutil.ignore_patterns("__pycache__", "screenshots"))
    return tmp_path


def put_in(path: Path, old: str, new: str) -> None:
    before = path.read_text("utf-8")
    assert before.count(old) == 1, (path, old)
    path.write_text(before.replace(old, new), encoding="utf-8")


def says(tree: Path, *command: str) -> str:
    done = subprocess.run(
        [sys.executable, *command], cwd=tree, capture_output=True, text=True, timeout=120, check=False
    )
    assert not done.stderr, done.stderr
    return done.stdout


RULE = """

@rules(
    Rule("port-near-origin", "made", "No port is near the origin", 3.0, "mm", "For this test.", PRACTICE),
)
def _near_origin(scene: Scene) -> Iterator[Finding]:
    for id_, port in scene.shapes.ports.items():
        yield Finding("port-near-origin", "note", (id_,), f"{id_} was looked at.", "Nothing is to be done.", at=port.at)
"""

SHEET = """from sketcher.document import Document
from sketcher.export.registry import sheet
from sketcher.export.sheet import Draft, Layer, Sheet
from sketcher.geometry import Shapes

EDGE = Layer("BARE_EDGE", "outer", "The outline: cut", colour=1)


@sheet("bare-plate", title="Bare plate", about="The plate's outline alone.", cautions=("eyes",), paper="A4")
def _bare(document: Document, shapes: Shapes, label: str) -> Sheet:
    draft = Draft()
    draft.contour(EDGE.name, shapes.plate, "plate")
    return draft.sheet("bare-plate", "Bare plate", (EDGE,))
"""

TRIED = """
import re
from pathlib import Path
from sketcher.checks import run
from sketcher.cli import main
from sketcher.document import dumps, from_plain, loads, read, schema, to_plain, with_changes
from sketcher.drawing.plan import plan
from sketcher.flow import solve_loop
from sketcher.geometry import build

path = Path("examples/small-board.json")
old = read(path)
# A key: older files are as valid as before, and it is written only where it is not as usual.
assert dumps(old) == path.read_text("utf-8")
port = old.ports[0].model_copy(update={"torque_nm": 4.0})
new = with_changes(old, ports=(port, *old.ports[1:]))
assert '"torque_nm": 4' in dumps(new) and loads(dumps(new)) == new
# A rule has its say.
assert {id_ for f in run(old) if f.rule == "port-near-origin" for id_ in f.items} == {port.id for port in old.ports}
# A sheet comes out of the command line in every kind of file, with what is drawn on it.
for suffix in ("svg", "dxf", "pdf"):
    assert main(["export", str(path), "--sheet", "bare-plate", "-o", f"bare.{suffix}"]) == 0
assert re.search("BARE_EDGE.*<path", Path("bare.svg").read_text("utf-8"), re.S)
assert "BARE_EDGE" in Path("bare.dxf").read_text("utf-8") and Path("bare.pdf").read_bytes().startswith(b"%PDF")
# A kind of device is read, drawn, in the loop and looked at by the rules.
plain = to_plain(old)
plain["devices"][1]["kind"] = "cold-wall"
odd = from_plain(plain)
assert odd.devices[1].kind == "cold-wall" and f'data-id="{odd.devices[1].id}"' in plan(build(odd)).svg()
assert solve_loop(odd, build(odd)).as_json().keys() == solve_loop(old, build(old)).as_json().keys()
assert not [f for f in run(odd) if f.rule.startswith("unchecked")]
print("all tried")
"""


def test_a_rule_a_key_and_a_sheet_are_added_as_the_recipes_say(tree: Path) -> None:
    checks, document, export = tree / "sketcher/checks", tree / "sketcher/document", tree / "sketcher/export"
    made = checks / "made.py"
    made.write_text(made.read_text("utf-8") + RULE, encoding="utf-8")
    put_in(
        document / "plate.py",
        '    use: Literal["loop", "fill",',
        '    torque_nm: Positive = 2.5\n    use: Literal["loop", "fill",',
    )
    put_in(document / "hardware.py", '    "coupling",\n', '    "coupling",\n    "cold-wall",\n')
    (export / "bare.py").write_text(SHEET, encoding="utf-8")
    put_in(export / "sheets.py", "from sketcher.export import final", "from sketcher.export import bare, final")
    put_in(export / "sheets.py", "MAKERS = (final", "MAKERS = (bare, final")
    for package, page in (("checks", "checks"), ("document", "format"), ("export", "files")):
        says(tree, "-m", f"sketcher.{package}.describe", f"docs/{page}.md")
    says(tree, "-m", "sketcher.server.page_format", "static")
    assert "`port-near-origin`" in (tree / "docs/checks.md").read_text("utf-8")
    assert re.search(r"\| `torque_nm` \| number [^|]+ \| 2\.5 \|", (tree / "docs/format.md").read_text("utf-8"))
    assert "`bare-plate`" in (tree / "docs/files.md").read_text("utf-8")
    # The page has the key's field, with its unit and default, and the device among those to choose from.
    page = (tree / "static/format.js").read_text("utf-8")
    assert re.search(r'torque_nm: \{"label": "[^"]+", "type": "\w+"', page)
    assert re.search(r'Port: \{.*"torque_nm": 2\.5', page)
    assert '"cold-wall"' in page
    assert "torque_nm?: number" in (tree / "static/format_types.d.ts").read_text("utf-8")
    assert says(tree, "-c", TRIED).endswith("all tried\n")


def test_the_recipes_name_files_that_are_there() -> None:
    recipes = (ROOT / "DEVELOPERS.md").read_text("utf-8").split("## How to add")[1].split("\n## ")[0]
    named = re.findall(r"`((?:sketcher|static|tests|docs)/[\w./-]+)`", recipes)
    assert len(named) > 8
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_every_kind_of_item_has_its_shape_its_drawing_and_its_fields() -> None:
    # As the recipe "a kind of item" names the files: one of each, drawn, measured, listed, with fields.
    document = from_plain(ONE_OF_EACH)
    assert [kind.name for kind in KINDS if not members(document, kind)] == [], "put one into ONE_OF_EACH"
    shapes = build(document)
    drawn = set(re.findall(r'data-kind="([\w-]+)"', plan(shapes).svg()))
    # A group is drawn by its members, the server's answer adds dimension lines and tubes.
    elsewhere = text("sketcher/drawing/*.py")
    fields = text("static/panels/fields.js", "static/model/document.js")
    for kind in KINDS:
        if kind.name != "group":
            assert kind.name in drawn or f'"{kind.name}"' in elsewhere, kind.name
        if kind.name not in ("group", "dimension", "tube", "branch"):
            assert footprint(shapes, members(document, kind)[0].id) is not None, kind.name
        assert f'"{kind.name}"' in fields or f"{kind.name}:" in fields or kind.name in ("tube", "group"), kind.name
    assert set(_LISTED) == {kind.name for kind in KINDS}


SQUARE = {"shape": "rectangle", "x_mm": 100, "y_mm": 100, "width_mm": 20, "depth_mm": 20}
ONE_OF_EACH = {
    "floor": {
        "outline": {**SQUARE, "width_mm": 190, "depth_mm": 190},
        "obstacles": [{"id": "O1", "outline": {**SQUARE, "x_mm": 30}, "height_mm": 5}],
        "openings": [{"id": "W1", "outline": {**SQUARE, "x_mm": 60}}],
    },
    "plate": {"outline": {**SQUARE, "width_mm": 180, "depth_mm": 180}, "body_thickness_mm": 20, "lid_thickness_mm": 6},
    "boards": [{"id": "B1", "x_mm": 20, "y_mm": 20, "z_mm": 60, "width_mm": 60, "depth_mm": 40}],
    "devices": [
        {
            "id": "D1",
            "kind": "block",
            "z_mm": 60,
            "outline": SQUARE,
            "height_mm": 10,
            "ports": [{"id": "in"}, {"id": "out", "u_mm": 5}],
        }
    ],
    "ports": [{"id": "P1", "x_mm": 130, "y_mm": 30}, {"id": "P2", "x_mm": 160, "y_mm": 30}],
    "branches": [{"id": "J1", "x_mm": 145, "y_mm": 60}],
    "channels": [{"id": "C1", "start": "P1", "end": "J1", "width_mm": 8, "depth_mm": 8}],
    "cutouts": [{"id": "K1", "outline": {**SQUARE, "y_mm": 130}}],
    "pockets": [{"id": "R1", "outline": {**SQUARE, "y_mm": 160}, "depth_mm": 4}],
    "holes": [{"id": "H1", "x_mm": 160, "y_mm": 160}],
    "keep_outs": [{"id": "Z1", "outline": {**SQUARE, "x_mm": 150}}],
    "groups": [{"id": "G1", "members": ["P1", "P2"]}],
    "dimensions": [{"id": "N1", "first": {"item": "P1"}, "second": {"item": "P2"}}],
    "loop": {"tubes": [{"id": "T1", "start": "D1.in", "end": "D1.out"}]},
}


def test_every_kind_of_device_can_be_chosen_in_the_page() -> None:
    page = text("static/**/*.js")
    assert [kind for kind in typing.get_args(DeviceKind) if f'"{kind}"' not in page and f"{kind}:" not in page] == []


def test_every_rule_has_a_case_in_the_tests() -> None:
    tests = text("tests/**/*.py")
    named = {rule.name for rule in all_rules() if re.search(rf"(?<![\w-]){rule.name}(?![\w-])", tests)}
    assert {rule.name for rule in all_rules()} - named == set(), "a rule without a test: add its case"


def test_every_sheet_stands_in_the_docs() -> None:
    files = text("docs/files.md")
    assert [kind.name for kind in kinds() if f"`{kind.name}`" not in files] == []


def test_every_pure_action_of_the_page_has_its_test() -> None:
    # As the recipe "an action of the page" says: what gives a document back is tried in tests/page.
    tests = text("tests/page/*.js")
    found, untried = 0, []
    for path in sorted(ROOT.glob("static/model/*.js")):
        code = path.read_text("utf-8")
        for said, name in re.findall(r"/\*\*((?:(?!\*/).)*)\*/\s*export (?:function|const) (\w+)", code, re.S):
            if re.search(r"@returns \{(?:\{document|[^}]*PlateDocument)", said):
                found += 1
                inside = len(re.findall(rf"\b{name}\(", code)) > 1
                if not inside and not re.search(rf"\b{name}\b", tests):
                    untried.append(f"{path.name} {name}")
    assert found > 15
    assert untried == []


def test_every_action_of_the_page_is_called_and_every_call_is_there() -> None:
    # As the recipe "an action of the page" says: in static/actions.js, called by a shortcut, a tool or a panel.
    page = text("static/actions.js")
    made = set(re.findall(r"^    (?:async )?(\w+)\(", page, re.M)) | set(re.findall(r"^    (\w+)(?::|,$)", page, re.M))
    others = "\n".join(p.read_text("utf-8") for p in ROOT.glob("static/**/*.js") if p.name != "actions.js")
    called = set(re.findall(r"\bactions\.(?!js\b)(\w+)", others))
    assert called - made == set()
    assert len(called) > 10


def test_every_tool_is_offered_somewhere() -> None:
    # As the recipe says: an entry in TOOLS, and a place where it can be had (the column, or the step that needs it).
    tools = re.findall(
        r'^  "?([\w-]+)"?: (?:placing\(|\{$)',
        text("static/canvas/tools.js").split("export const TOOLS")[1].split("\n};")[0],
        re.M,
    )
    assert len(tools) > 10
    others = "\n".join(p.read_text("utf-8") for p in ROOT.glob("static/**/*.js") if p.name != "tools.js")
    offered = [name for name in tools if f'"{name}"' in others or re.search(rf"TOOLS\.{name}\b", others)]
    assert sorted(set(tools) - set(offered)) == []
