"""Every key of the document has a control in the page: a value typed there comes back from the saved plate.

The keys, what each may hold and what it is called come from the JSON Schema; the page is asked by label alone.
"""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from sketcher.document import loads, schema, to_plain
from sketcher.document.labels import label
from tests.browser.conftest import Bench, Server

pytestmark = pytest.mark.browser

SCHEMA = schema()
MODELS: dict[str, Any] = {"Document": SCHEMA, **SCHEMA["$defs"]}

#: Keys that nobody types, with the reason.
GIVEN = {
    ("Document", "version"): "set by the program",
    ("Document", "retired_ids"): "kept by the program, so that no id is given out twice",
    ("Document", "limits"): "a field for each rule, under Limits of the rules",
    ("Tie", "places"): "noted by the program when an item is placed by its points; the only Place by itself",
    ("shape", ""): "chosen as the shape of an outline",
}
#: Ids of items are given by the program and never change; ids of rows (ports of devices, tools, points) are typed.
ITEMS = {
    "Board", "Branch", "Channel", "Cutout", "Device", "Group", "Hole", "KeepOut", "Obstacle", "Opening", "Pocket",
    "Port", "Tube", "Dimension",
}  # fmt: skip

#: Values that fit the plate below, for keys that name something in it or hang together with others.
FITTING: dict[str, Any] = {
    "Board.held_by": "B2", "Board.slot": 2, "Board.pattern": "ATX", "Device.held_by": "B1", "Device.slot": 1,
    "Port.thread": "G1/8", "DevicePort.thread": "G1/8",
    "Port.serves": "D1.out", "Channel.start": "P3", "Channel.end": "J1", "Hole.screw": "M5",
    "Group.members": ["P1", "H1"], "Tube.start": "D1.out", "Tube.end": "D2.out", "Tube.size": "tube",
    "Course.size": "tube", "Loop.tube_size": "tube", "Seal.screw": "M5", "FitReading.port": "P2", "Tie.item": "D1",
    "Tie.points": ["A1", "A2"], "Survey.origin": "A2", "Survey.along_x": "A1", "Surveyed.corners": ["A1", "A2", "A3"],
    "Surveyed.centre": "A3", "Reading.points": ["A1", "A3"], "Reading.wall": ["A1", "A2"], "Reading.tool": "caliper",
    "Reading.kind": "y", "Acceptance.items": ["P2"], "Acceptance.rule": "wall-thin", "Photo.file": "other.png",
    "Landing.serves": "D1.in", "Obstacle.bottom_mm": 3.5, "Slot.length_mm": 41.5, "Slot.width_mm": 9.5,
    "Rectangle.corner_radius_mm": 1.5, "Hole.diameter_mm": 5.25, "Hole.slot_length_mm": 9.75, "Hole.kind": "tapped",
    "Rectangle.width_mm": 61.5, "Rectangle.depth_mm": 41.5,
    "DevicePort.id": "inlet", "Tool.id": "Y9", "SurveyPoint.id": "A9", "Reading.id": "M9", "Surveyed.id": "L9",
    "BoardHole.id": "h9", "Follow.item": "D2", "Follow.hole": "h2",
    "CableSlot.start": "R2", "CableSlot.end": "K1",
    "KeepOut.refuses": ["port", "hole"],
    "DimensionEnd.item": "P2", "DimensionEnd.part": "corner", "Loop.connections": ["P2", "P3"],
}  # fmt: skip

#: Rows other than the first, where the first is named elsewhere or may not hold the key.
ROW = {
    "SurveyPoint.id": 3,
    "Surveyed.centre": 1,
    "Surveyed.height_mm": 1,
    "Reading.kind": 1,
    "Tool.id": 2,
    "BoardHole.id": 2,
}


def outline(shape: str, **values: Any) -> dict[str, Any]:
    return {"shape": shape, "x_mm": 0, "y_mm": 0, **values}


RECTANGLE = outline("rectangle", width_mm=60, depth_mm=40)
POINT = {"x_mm": 120, "y_mm": 100, "z_mm": 80}
TRIANGLE = {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in ((20, 20), (60, 20), (20, 60))]}
DEVICE: dict[str, Any] = {
    "kind": "radiator",
    "outline": RECTANGLE,
    "ports": [{"id": "in", "u_mm": -20}, {"id": "out", "u_mm": 20}],
    "holes": [{"id": f"h{n}", "u_mm": 5, "v_mm": 5 * n} for n in range(1, 4)],
    "curve": [{"flow_l_min": 2, "pressure_kpa": 3}],
    "conductance": [{"flow_l_min": 2, "conductance_w_k": 20}],
}
#: One of everything, with a row in every list.
PLATE: dict[str, Any] = {
    "floor": {
        "outline": {**outline("rectangle", width_mm=400, depth_mm=300), "x_mm": 200, "y_mm": 150},
        "obstacles": [{"id": "O1", "outline": outline("circle", diameter_mm=20), "bottom_mm": 1, "height_mm": 30}],
        "openings": [{"id": "W1", "outline": outline("slot", length_mm=40, width_mm=10)}],
    },
    "survey": {
        "tools": [{"id": "caliper", "spread_mm": 0.05}, {"id": "rule", "spread_mm": 0.3},
                  {"id": "tape", "spread_mm": 1}],
        "points": [{"id": f"A{i}"} for i in range(1, 5)],
        "readings": [{"id": "M1", "points": ["A1", "A2"], "value": 100, "tool": "rule"},
                     {"id": "M2", "kind": "x", "points": ["A1"], "value": 50}],
        "outlines": [{"id": "L1", "corners": ["A1", "A2", "A3"]}, {"id": "L2", "centre": "A1", "height_mm": 20}],
    },
    "photo": {
        "file": "floor.png", "width_px": 800, "height_px": 600,
        "marks": [{"x_px": 1, "y_px": 2, "x_mm": 3, "y_mm": 4}],
        "edges": [{"points": [{"x_px": n, "y_px": n} for n in range(3)]}],
    },
    "boards": [
        {"id": "B1", "slots": 2, "holes": [{"id": f"h{n}", "u_mm": 5, "v_mm": 5 * n} for n in range(1, 4)]},
        {"id": "B2", "role": "riser", "slots": 3},
    ],
    "devices": [{"id": "D1", **DEVICE}, {"id": "D2", **DEVICE}],
    "loop": {
        "tubes": [{"id": "T1", "start": "D1.in", "end": "D2.in", "points": [POINT]}],
        "connections": [["P1", "P2"]],
    },
    "plate": {"outline": TRIANGLE, "body_thickness_mm": 20, "lid_thickness_mm": 10},
    "ports": [
        {"id": "P1", "x_mm": 50, "y_mm": 50, "serves": "D1.in", "tube": {"points": [POINT]}},
        {"id": "P2", "x_mm": 90, "y_mm": 50}, {"id": "P3", "x_mm": 130, "y_mm": 50},
    ],
    "branches": [{"id": "J1", "x_mm": 70, "y_mm": 90}],
    "channels": [{
        "id": "C1", "start": "P1", "end": "P2", "width_mm": 10, "depth_mm": 8, "points": [{"x_mm": 60, "y_mm": 70}],
    }],
    "cutouts": [{"id": "K1", "outline": TRIANGLE}],
    "pockets": [
        {"id": "R1", "outline": RECTANGLE, "depth_mm": 4}, {"id": "R2", "outline": RECTANGLE, "depth_mm": 4},
        {"id": "R3", "outline": RECTANGLE, "depth_mm": 4,
         "cable": {"start": "R1", "points": [{"x_mm": 40, "y_mm": 40}]}},
    ],
    "holes": [{"id": "H1", "x_mm": 20, "y_mm": 20},
              {"id": "H2", "x_mm": 30, "y_mm": 20, "follows": {"item": "B1", "hole": "h1"}}],
    "keep_outs": [{"id": "Z1", "outline": RECTANGLE},
                  {"id": "Z2", "outline": RECTANGLE, "follows": {"item": "D1"}}],
    "groups": [{"id": "G1", "members": ["P3"]}],
    "dimensions": [{"id": "N1", "first": {"item": "plate", "part": "edge"}, "second": {"x_mm": 40, "y_mm": 30}}],
    "fit_readings": [{"port": "P1"}],
    "landings": [{"serves": "D1.out", "x_mm": 10, "y_mm": 20}],
    "ties": [{"item": "B1", "points": ["A1"]}],
    "accepted": [{"rule": "fitting-clear", "items": ["P1"], "reason": "Seen by hand."}],
}  # fmt: skip

Entry = dict[str, Any]


def held(value: Entry) -> Entry:
    """What a key holds when it holds something."""
    return next((one for one in value.get("anyOf", [value]) if one.get("type") != "null"), value)


def named(value: Entry) -> str:
    return str(value.get("$ref", "")).rpartition("/")[2]


def other(model: str, key: str, value: Entry, now: Any) -> Any:
    """A value that the key may have and does not have yet."""
    name = f"{model}.{key}"
    if name in FITTING:
        fitting = FITTING[name]
        return "acrylic 13/10" if fitting == "tube" else fitting
    inside = held(value)
    if "enum" in inside:
        return next(word for word in inside["enum"] if word != (value.get("default") if now is None else now))
    if inside.get("type") == "boolean":
        return not (value.get("default") if now is None else now)
    if inside.get("type") in ("number", "integer"):
        low = inside.get("exclusiveMinimum", inside.get("minimum", 0))
        high = inside.get("maximum", inside.get("exclusiveMaximum", low + 1000))
        step = 1 if inside["type"] == "integer" else 0.75 if high - low > 2 else 0.25
        start = next(one for one in (now, value.get("default"), max(low, 0)) if isinstance(one, int | float))
        return start + step if start + step <= high else start - step
    if inside.get("type") == "array":
        return [30.0, 60.0]
    return f"Other {key}"[: inside.get("maxLength", 60)]


def entries(model: str, at: list[Any], sections: list[str], whole: Any) -> list[Entry]:
    """A control for each key of a model: where it stands, what it is called, what it is to hold."""
    found: list[Entry] = []
    here = dig(whole, at) or {}
    for key, value in MODELS[model]["properties"].items():
        inside = held(value)
        title = value.get("title") or label(model, key)
        path = [*at, key]
        if (model, key) in GIVEN or key == "shape" or (key == "id" and model in ITEMS):
            continue
        if "oneOf" in inside:
            shape = here[key]["shape"].capitalize()
            found += entries(shape, path, [*sections, title], whole)
        elif named(inside) and key not in here and held(value) is not value:
            continue  # a part that may be missing, and is
        elif name_of_area(model, key, at):
            continue
        elif named(inside):
            found += entries(named(inside), path, [*sections, title], whole)
        elif named(inside.get("items", {})):
            found += rows(
                named(inside["items"]),
                path,
                [*sections, "Corners of the outline" if key == "vertices" else title],
                whole,
            )
        elif key == "connections":
            found.append({"name": f"{model}.{key}", "sections": [*sections, title], "label": f"{title}, line 1",
                          "path": [*path, 0], "value": FITTING["Loop.connections"]})  # fmt: skip
        else:
            found.append({"name": f"{model}.{key}", "sections": sections, "label": title, "path": path,
                          "value": other(model, key, value, here.get(key))})  # fmt: skip
    return found


def name_of_area(model: str, key: str, at: list[Any]) -> bool:
    """An area follows no mounting hole; only a screw hole does."""
    return (model, key) == ("Follow", "hole") and at[0] != "holes"


def rows(model: str, at: list[Any], sections: list[str], whole: Any) -> list[Entry]:
    """The cells of a row of a list; a list of items has a panel for each instead."""
    if model in ITEMS:
        return []
    scalars = [key for key, value in MODELS[model]["properties"].items() if not named(held(value).get("items", {}))]
    if not scalars:  # a row that holds nothing but a list
        return entries(model, [*at, 0], [*sections[:-1], f"{sections[-1]}, 1"], whole)
    found = []
    for key in scalars:
        row = ROW.get(f"{model}.{key}", 0)
        value = MODELS[model]["properties"][key]
        found.append({
            "name": f"{model}.{key}", "sections": sections,
            "label": f"{value.get('title') or label(model, key)}, {sections[-1].lower()}, row {row + 1}",
            "path": [*at, row, key], "value": other(model, key, value, dig(whole, [*at, row]).get(key)),
        })  # fmt: skip
    return found


def dig(whole: Any, path: list[Any]) -> Any:
    for step in path:
        if whole is None or (isinstance(step, int) and step >= len(whole)):
            return None
        whole = whole[step] if isinstance(step, int) else whole.get(step)
    return whole


TYPE = """async ([selector, entries]) => {
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const missing = [];
  const find = ({ sections, label }) => {
    const root = document.querySelector(selector);
    let at = root;
    // A part of the document has its own section on the step, too; beneath All values the name says so.
    for (const title of sections) {
      const named = [title, `${title}, all values`].map((one) => `section[aria-label="${CSS.escape(one)}"]`);
      at = at?.querySelector(named.join());
    }
    if (!at) return null;
    const own = (one) => (sections.length ? one.closest("section") === at : !root.contains(one.closest("section")));
    for (const one of at.querySelectorAll("label, legend"))
      if (one.textContent.trim() === label && own(one)) return one.control ?? one.parentElement;
    return at.querySelector(`:is(input, select)[aria-label="${CSS.escape(label)}"]`);
  };
  const type = async (entry) => {
    const control = find(entry);
    if (!control) {
      missing.push(`${entry.name}: no control “${entry.label}” in ${entry.sections.join(" / ")}`);
      return;
    }
    if (control.tagName === "FIELDSET") {
      for (const { value } of [...control.querySelectorAll("input")]) {
        const box = find(entry).querySelector(`input[value="${value}"]`);
        if (box.checked !== entry.value.includes(value)) box.click();
        await frame();
      }
      return;
    }
    if (control.type === "checkbox") control.click();
    else {
      control.value = Array.isArray(entry.value) ? entry.value.join(", ") : String(entry.value);
      control.dispatchEvent(new Event("input", { bubbles: true }));
      control.dispatchEvent(new Event("change", { bubbles: true }));
    }
  };
  // A cell hands in its whole table as it was drawn: one of each table between two drawings. Fields go one by one.
  const waves = [];
  const cells = {};
  for (const entry of entries) {
    const table = / (row|line) \\d+$/.test(entry.label) ? entry.sections.join(" / ") : null;
    const wave = table === null ? 0 : (cells[table] = (cells[table] ?? 0) + 1);
    (waves[wave] ??= []).push(entry);
  }
  const kept = waves.flat().pop();
  // What has the focus gets it back with each redraw, and the whole panel is measured for that.
  document.activeElement?.blur();
  window.keepHere(true);
  for (const wave of waves) {
    for (const entry of wave ?? []) {
      if (entry === kept) {
        // Edits wait in a queue: all before the last are to be through.
        const through = () => document.querySelector("#link-sign").textContent === "Saved";
        for (let i = 0; i < 600 && (i === 0 || !through()); i += 1) await frame();
        window.keepHere(false);
      }
      await type(entry);
    }
    await frame();
  }
  window.keepHere(false);
  return missing;
}"""

#: While a panel is typed in, the page hears at once that an edit is kept; the last edit of the panel goes to the
#: server, with all that was typed before it. Three hundred saves one by one take longer than the rest of the test.
KEEP = """
const send = window.fetch;
let here = false, ahead = 0, quiet = false;
window.lookNoMore = () => { quiet = true; };
window.keepHere = (on) => { here = on; };
window.fetch = async (where, options) => {
  // What is asked here is what is kept, not what the rules say of it.
  const json = { headers: { "Content-Type": "application/json" } };
  if (quiet && String(where).endsWith("/api/look")) return new Response("{}", json);
  if (quiet && ["answers", "sureness"].some((one) => String(where).endsWith(`/api/${one}`)))
    return new Response(JSON.stringify({ error: { message: "Not now." } }), { status: 503, ...json });
  if (options?.method !== "PUT" || !/\\/api\\/plates\\/\\d+$/.test(String(where))) return send(where, options);
  const asked = JSON.parse(options.body);
  if (here) {
    ahead += 1;
    const answer = { state: asked.base + 1, can_undo: "What was typed", can_redo: "" };
    return new Response(JSON.stringify(answer), { headers: { "Content-Type": "application/json" } });
  }
  const body = JSON.stringify({ ...asked, base: asked.base - ahead });
  ahead = 0;
  return send(where, { ...options, body });
};
"""


def item_panels(document: dict[str, Any]) -> list[tuple[str, list[Entry]]]:
    """Every item that has a panel of its own, one of each kind, and the device last: its ports are renamed."""
    places = [
        ("Obstacle", ["floor", "obstacles", 0]), ("Opening", ["floor", "openings", 0]), ("Board", ["boards", 0]),
        ("Port", ["ports", 0]), ("Branch", ["branches", 0]), ("Channel", ["channels", 0]), ("Cutout", ["cutouts", 0]),
        ("Pocket", ["pockets", 0]), ("Pocket", ["pockets", 2]), ("Hole", ["holes", 0]), ("KeepOut", ["keep_outs", 0]),
        ("Group", ["groups", 0]),
        ("Tube", ["loop", "tubes", 0]), ("KeepOut", ["keep_outs", 1]), ("Hole", ["holes", 1]),
        ("Dimension", ["dimensions", 0]), ("Device", ["devices", 1]),
    ]  # fmt: skip
    return [(dig(document, at)["id"], entries(model, at, [], document)) for model, at in places]


STEPS = {
    "Measure": ["floor", "survey", "photo", "ties"], "Lay out": ["plate", "grid"], "Run channels": ["loop"],
    "Check": ["shop", "spreads", "accepted"], "Test piece": ["test_piece", "fit_readings", "landings"],
    "Hand off": ["name", "note", "seal", "drawing"],
}  # fmt: skip


def step_panels(document: dict[str, Any]) -> list[tuple[str, list[Entry]]]:
    """The keys that belong to a step, as the page's own list has them."""
    found = entries("Document", [], [], document)
    return [(step, [one for one in found if one["path"][0] in keys]) for step, keys in STEPS.items()]


def saved(bench: Bench, typed: list[Entry]) -> list[str]:
    """What did not come back as it was typed."""
    expect(bench.page.locator("#link-sign")).to_have_text("Saved", timeout=60_000)
    document = bench.document()
    return [f"{one['name']}: {one['value']!r} came back as {found!r}" for one in typed
            if (found := dig(document, one["path"])) != one["value"]]  # fmt: skip


def open_all(page: Page, panel: str) -> None:
    summary = page.locator(f"{panel} summary", has_text="All values")
    if summary.locator("..").get_attribute("open") is None:
        summary.click()
    # What a fold holds is drawn when it has opened.
    expect(summary.locator("..").locator("label").first).to_be_visible(timeout=30_000)


def test_every_key_of_the_schema_is_changed_in_the_page(context: BrowserContext, server: Server) -> None:
    document = to_plain(loads(json.dumps(PLATE)))
    made = server.post("/api/plates", {"document": document})["id"]
    page = context.new_page()
    page.add_init_script(KEEP)
    bench = Bench(page, server, made)
    bench.open()
    # Nothing is looked at by eye either: a small window without the drawing is painted sooner.
    page.set_viewport_size({"width": 1280, "height": 400})
    page.add_style_tag(content="#board, #foot { display: none !important }")
    page.evaluate("window.lookNoMore()")
    reached: set[str] = set()
    wrong: list[str] = []
    for step, typed in step_panels(copy.deepcopy(document)):
        # A model that stands in several places (a fitting, a rectangle) is typed in the first.
        typed = [one for one in typed if one["name"] not in reached]
        bench.step(step)
        open_all(page, "#step-panel")
        wrong += page.evaluate(TYPE, ["#step-panel .all-values", typed])
        wrong += saved(bench, typed)
        reached |= {one["name"] for one in typed}
    bench.step("Check")
    page.evaluate("() => { document.querySelector('#step-panel .all-values').open = false; }")
    for id_, typed in item_panels(bench.document()):
        typed = [one for one in typed if one["name"] not in reached]
        page.get_by_role("tab", name="All items").click()
        page.locator(f'#items [data-item="{id_}"]').click()
        open_all(page, "#item-panel")
        wrong += page.evaluate(TYPE, ['#item-panel [data-fold="All values"]', typed])
        wrong += saved(bench, typed)
        reached |= {one["name"] for one in typed}
    assert wrong == []
    everything = {
        f"{model}.{key}" for model, part in MODELS.items() for key, value in part.get("properties", {}).items()
        if model != "Place" and not (key == "id" and model in ITEMS) and key != "shape" and (model, key) not in GIVEN
        and not named(held(value)) and not named(held(value).get("items", {})) and "oneOf" not in held(value)
    }  # fmt: skip
    assert everything - reached == set()
    assert bench.faults == []
