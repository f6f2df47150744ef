"""The recipe "an action of the page" in DEVELOPERS.md, followed in the files that the page is given: a pure function
with its test, its button, its key, and a tool. Nothing on the disk is changed."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import ROOT, Bench

pytestmark = pytest.mark.browser

#: The pure function, a new module of the model.
MODEL = """
import { change } from "./edit.js";

/** Items set on whole millimetres. */
export const onWhole = (document, ids) =>
  ids.reduce((next, id) => change(next, id, (item) => ({ ...item, x_mm: Math.round(item.x_mm) })), document);
"""
#: Its test, as one in tests/page.
TEST = """
import { equal, frozen, test } from "./harness.js";
import { onWhole } from "/static/model/onwhole.js";

test("a hole comes to stand on whole millimetres", () => {
  const before = frozen({ holes: [{ id: "H1", x_mm: 20.32, y_mm: 7 }] });
  equal(onWhole(before, ["H1"]).holes, [{ id: "H1", x_mm: 20, y_mm: 7 }]);
});
"""
WHOLE = "(d) => onWhole(d, ids), { selection: ids }"
#: What the recipe changes: file, what stands there, and what comes before it.
CHANGES = [
    ("panels/itemactions.js", "import { button,", 'import { onWhole } from "../model/onwhole.js";\n'),
    (
        "panels/itemactions.js",
        "    // A group alone goes by",
        f'    button("To whole mm", () => actions.edit("Set on whole mm", {WHOLE})),\n',
    ),
    ("canvas/shortcuts.js", "import { TOOLS,", 'import { onWhole } from "../model/onwhole.js";\n'),
    ("canvas/shortcuts.js", '      ["Ctrl A", "Select all"],', '      ["Ctrl M", "Set the selection on whole mm"],\n'),
    (
        "canvas/shortcuts.js",
        '    "ctrl+a": () =>',
        f'    "ctrl+m": () => {{ const ids = store.get().selection; actions.edit("Set on whole mm", {WHOLE}); }},\n',
    ),
    ("canvas/shortcuts.js", '      ["K", "Round cutout"],', '      ["V", "Round pocket"],\n'),
    ("canvas/tools.js", "  pocket: placing(", '  sink: placing("sink", "Round pocket", "pocket", "v", "circle"),\n'),
    ("panels/toolcolumn.js", '"pocket", "keep-out"]', '"sink", '),
]


def follow(page: Page) -> None:
    """The page's files as they would be after the recipe."""
    made = {"model/onwhole.js": MODEL, "../tests/page/onwhole.test.js": TEST}
    recipe = (ROOT / "DEVELOPERS.md").read_text("utf-8").split("**an action of the page**")[1].split("\n- **")[0]
    for name, old, new in CHANGES:
        assert f"static/{name}" in recipe, "a file that the recipe does not name"
        text = made.get(name) or (ROOT / "static" / name).read_text("utf-8")
        assert text.count(old) == 1, (name, old)
        made[name] = text.replace(old, new + old)

    def given(text: str):
        return lambda route: route.fulfill(body=text, content_type="text/javascript")

    def from_disk(route: Route) -> None:
        route.fulfill(path=ROOT / "tests/page" / route.request.url.rpartition("/")[2], content_type="text/javascript")

    page.route("**/tests/page/harness.js", from_disk)
    for name, text in made.items():
        page.route(re.compile(rf"/{re.escape(name.removeprefix('../'))}$"), given(text))


def test_an_action_is_added_as_the_recipe_says(empty: Bench) -> None:
    page = empty.page
    follow(page)
    page.reload()
    empty.open()
    held = page.evaluate(
        """async () => {
            const harness = await import("/tests/page/harness.js");
            await import("/tests/page/onwhole.test.js");
            return harness.results();
        }"""
    )
    assert [entry["fault"] for entry in held] == [""]

    # The tool: by its button in the column, and by its key.
    page.get_by_role("button", name="Round pocket", exact=True).click()
    empty.click(100, 90)
    page.keyboard.press("v")
    empty.click(150, 90)
    assert [pocket["outline"]["shape"] for pocket in empty.document()["pockets"]] == ["circle", "circle"]

    # The key, undone in one step that has the action's words, and the button.
    page.keyboard.press("h")
    empty.click(200, 150)
    for _ in range(4):
        page.keyboard.press("Control+ArrowRight")
    before = empty.item("holes", "H1")["x_mm"]
    assert abs(before - round(before)) > 0.05
    page.keyboard.press("Control+m")
    assert empty.item("holes", "H1")["x_mm"] == round(before)
    undo = page.locator("#undo")
    expect(undo).to_have_attribute("title", re.compile("Set on whole mm"))
    undo.click()
    assert empty.item("holes", "H1")["x_mm"] == before
    page.get_by_role("button", name="To whole mm").click()
    assert empty.item("holes", "H1")["x_mm"] == round(before)

    # The help has both keys, each with its words.
    page.keyboard.press("F1")
    listed = page.get_by_role("dialog")
    expect(listed).to_contain_text("Set the selection on whole mm")
    expect(listed).to_contain_text("Round pocket")
