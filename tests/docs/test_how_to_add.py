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
from sketcher.document.hardware import DeviceKind
from sketcher.document.kinds import KINDS
from sketcher.export import kinds

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

SHEET = """

@sheet("bare-plate", title="Bare plate", about="The plate's outline alone.", cautions=("eyes",), paper="A4")
def _bare(document: Document, shapes: Shapes, label: str) -> Sheet:
    draft = Draft()
    draft.contour(MARK.name, shapes.plate, "plate")
    return draft.sheet("bare-plate", (MARK,), ())
"""


def test_a_rule_a_key_and_a_sheet_are_added_as_the_recipes_say(tree: Path) -> None:
    checks, document = tree / "sketcher/checks", tree / "sketcher/document"
    made = checks / "made.py"
    made.write_text(made.read_text("utf-8") + RULE, encoding="utf-8")
    put_in(
        document / "plate.py",
        '    use: Literal["loop", "fill",',
        '    torque_nm: Positive = 2.5\n    use: Literal["loop", "fill",',
    )
    floor = tree / "sketcher/export/floor_cut.py"
    floor.write_text(floor.read_text("utf-8") + SHEET, encoding="utf-8")
    for package, page in (("checks", "checks"), ("document", "format"), ("export", "files")):
        says(tree, "-m", f"sketcher.{package}.describe", f"docs/{page}.md")
    assert "`port-near-origin`" in (tree / "docs/checks.md").read_text("utf-8")
    assert re.search(r"\| `torque_nm` \| number [^|]+ \| 2\.5 \|", (tree / "docs/format.md").read_text("utf-8"))
    assert "`bare-plate`" in (tree / "docs/files.md").read_text("utf-8")
    # Older files are as valid as before, the new key is written only where it is not as usual, the rule has its say.
    script = """
from pathlib import Path
from sketcher.checks import run
from sketcher.document import dumps, loads, read, schema, with_changes
from sketcher.export import export_sheet, kinds
from sketcher.geometry import build
path = Path("examples/small-board.json")
old = read(path)
assert dumps(old) == path.read_text("utf-8")
port = old.ports[0].model_copy(update={"torque_nm": 4.0})
new = with_changes(old, ports=(port, *old.ports[1:]))
assert '"torque_nm": 4' in dumps(new) and loads(dumps(new)) == new
assert {id_ for f in run(old) if f.rule == "port-near-origin" for id_ in f.items} == {port.id for port in old.ports}
assert "bare-plate" in {kind.name for kind in kinds()}
print(export_sheet(old, build(old), "bare-plate", "svg").decode()[:5])
"""
    assert says(tree, "-c", script).startswith("<?xml")


def test_the_recipes_name_files_that_are_there() -> None:
    recipes = (ROOT / "DEVELOPERS.md").read_text("utf-8").split("## How to add")[1].split("\n## ")[0]
    named = re.findall(r"`((?:sketcher|static|tests|docs)/[\w./-]+)`", recipes)
    assert len(named) > 8
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_every_kind_of_item_has_its_shape_its_drawing_and_its_fields() -> None:
    # As the recipe "a kind of item" names the files. A tube has no shape of its own in plan.
    drawn, fields = text("sketcher/drawing/*.py"), text("static/panels/fields.js", "static/model/document.js")
    shapes = text("sketcher/geometry/shapes.py", "sketcher/geometry/dimensions.py")
    for kind in KINDS:
        if kind.name in ("tube", "group"):
            continue
        assert f'"{kind.name}"' in drawn, kind.name
        assert f'"{kind.name}"' in fields or f"{kind.name}:" in fields, kind.name
        assert kind.path[-1] in shapes or kind.name in shapes, kind.name


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


def test_every_action_of_the_page_is_called_and_every_call_is_there() -> None:
    # As the recipe "an action of the page" says: in static/actions.js, called by a shortcut, a tool or a panel.
    page = text("static/actions.js")
    made = set(re.findall(r"^    (?:async )?(\w+)\(", page, re.M)) | set(re.findall(r"^    (\w+)(?::|,$)", page, re.M))
    others = "\n".join(p.read_text("utf-8") for p in ROOT.glob("static/**/*.js") if p.name != "actions.js")
    called = set(re.findall(r"\bactions\.(?!js\b)(\w+)", others))
    assert called - made == set()
    assert len(called) > 10
