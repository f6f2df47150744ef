"""Three ways of working at the page: by mouse, by keyboard alone, by finger. Each does only what a person can do.

The keyboard reaches everything by Tab, Shift+Tab and the shortcuts that F1 shows; the page's own scripts are only asked
where the focus is. Fingers are touch points of the browser's debugging interface: they tap what is in sight, and swipe
to what is not.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import CDPSession, Locator, Page, expect

from tests.browser.conftest import Bench, place_of

#: More presses of Tab than this to one thing, and it counts as out of reach.
MOST_TABS = 220
#: Where the target is from what has the focus now: "here", "before" or "after" in the page's order.
SIDE = """(words) => {
  const target = words.closest("button, a[href], input, select, textarea, summary, [tabindex]") ?? words;
  const now = document.activeElement;
  if (now === target) return "here";
  if (!now || now === document.body) return "after";
  return now.compareDocumentPosition(target) & Node.DOCUMENT_POSITION_PRECEDING ? "before" : "after";
}"""
#: Whether the middle of a target, or what a press on it goes to, lies bare on the screen; else how far it is to scroll.
BARE = """async (target) => {
  // What still moves, after a swipe or as a part opens, is not aimed at.
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  let { left, top, width, height } = target.getBoundingClientRect();
  for (let still = 0, last = top; still < 4; still = top === last ? still + 1 : 0) {
    last = top;
    await frame();
    ({ left, top, width, height } = target.getBoundingClientRect());
  }
  // An answer that has come meanwhile has put another one in its place: that one is looked for.
  if (!target.isConnected) return { gone: true };
  const [x, y] = [left + width / 2, top + height / 2];
  const seen = document.elementFromPoint(x, y);
  const own = seen && (target.contains(seen) || seen.contains(target) && seen.closest("label, summary, button, a"));
  if (own || seen && target.labels && [...target.labels].some((label) => label.contains(seen))) return { at: [x, y] };
  for (let box = target.parentElement; box; box = box.parentElement) {
    const style = getComputedStyle(box);
    if (!/auto|scroll/.test(style.overflowY) || box.scrollHeight <= box.clientHeight + 1) continue;
    const room = box.getBoundingClientRect();
    const [low, high] = [Math.max(room.top, 0), Math.min(room.bottom, innerHeight)];
    return { box: [room.left + room.width / 2, (low + high) / 2, high - low], by: (low + high) / 2 - y,
      left: box.scrollTop, seen: seen && seen.outerHTML.slice(0, 120) };
  }
  return { box: null, by: 0, left: 0, seen: seen && seen.outerHTML.slice(0, 120) };
}"""
#: The letters of tools on the drawing, as F1 shows them.
LETTERS = {"port": "p", "channel": "c", "branch": "j", "hole": "h", "pocket": "r", "keep-out": "z", "tube": "t"}
FRAMES = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"


@dataclass
class Hand:
    """One way of working at the page; every press, choice, field, place and reading is counted.

    Attributes:
        way: "mouse", "keyboard" or "finger".
        count: the actions so far. Tab and the arrow keys that lead to a place are not counted.
        log: what the actions were, in words.
    """

    bench: Bench
    way: str
    count: int = 0
    log: list[str] = field(default_factory=list)
    wire: CDPSession | None = None

    @property
    def page(self) -> Page:
        """The page."""
        return self.bench.page

    # What each way does -------------------------------------------------------------------------------------------

    def reach(self, target: Locator) -> None:
        """By keyboard: goes to something with Tab or Shift+Tab, whichever way it lies."""
        expect(target).to_be_visible()
        for _ in range(MOST_TABS):
            side = target.evaluate(SIDE)
            if side == "here":
                return
            self.page.keyboard.press("Tab" if side == "after" else "Shift+Tab")
        raise AssertionError(f"no Tab comes to {target}: {self.focused()} has the focus")

    def focused(self) -> str:
        """What has the focus, in words."""
        words: str = self.page.evaluate("() => document.activeElement.outerHTML.slice(0, 160)")
        return words

    def tap(self, target: Locator) -> None:
        """By finger: taps the middle of something, swiped into sight where it is not."""
        self.touch(*self.in_sight(target))

    def in_sight(self, target: Locator) -> tuple[float, float]:
        """By finger: swipes until the middle of something lies bare, and says where, px."""
        expect(target).to_be_visible()
        for _ in range(30):
            found = target.evaluate(BARE)
            if "at" in found:
                x, y = found["at"]
                return x, y
            if found.get("gone"):
                continue
            assert found["box"], f"{target} is covered by {found['seen']}"
            self.swipe(found["box"], found["by"])
        raise AssertionError(f"no swipe brings {target} into sight: {found}")

    def touch(self, x: float, y: float) -> None:
        """A finger comes down and goes up, px."""
        self._send("touchStart", (x, y))
        self._send("touchEnd")

    def hold(self, target: Locator, ms: float = 120) -> None:
        """A press of the mouse as long as a person's."""
        target.scroll_into_view_if_needed()
        box = place_of(target)
        self.page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        self.page.mouse.down()
        self.page.wait_for_timeout(ms)
        self.page.mouse.up()

    def hold_finger(self, target: Locator, ms: float = 120) -> None:
        """A tap as long as a person's; where a busy machine made it half a second, which browsers take for a long press
        and not for a tap, another."""
        for _ in range(5):
            at = self.in_sight(target)
            began = time.monotonic()
            self._send("touchStart", at)
            self.page.wait_for_timeout(ms)
            self._send("touchEnd")
            if time.monotonic() - began < 0.5:
                break
        # What browsers make a click of it.
        self.page.wait_for_timeout(ms)

    def swipe(self, box: list[float], by: float) -> None:
        """A finger moves what scrolls: about the middle of its room, no farther than the room allows."""
        x, middle, high = box
        most = high * 0.4
        way = max(-most, min(most, by))
        # A finger that has just left its place moves nothing yet.
        way += 16 if way > 0 else -16
        start = middle - way / 2
        self._send("touchStart", (x, start))
        for k in range(1, 6):
            self._send("touchMove", (x, start + way * k / 5))
        # It rests before it is lifted: nothing rolls on.
        for _ in range(3):
            self._send("touchMove", (x, start + way))
            self.page.evaluate(FRAMES)
        self._send("touchEnd")

    def _send(self, kind: str, *places: tuple[float, float]) -> None:
        if self.wire is None:
            self.wire = self.page.context.new_cdp_session(self.page)
        points = [{"x": x, "y": y, "id": i, "radiusX": 9, "radiusY": 9} for i, (x, y) in enumerate(places)]
        self.wire.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    # What is done at the page -------------------------------------------------------------------------------------

    def did(self, words: str) -> None:
        """Counts an action."""
        self.count += 1
        self.log.append(words)

    def press(self, target: Locator) -> None:
        """Presses a button, a link, a box or a title that unfolds."""
        self.did(f"press {target}")
        expect(target).to_be_visible()
        if self.way == "finger":
            self.tap(target)
        elif self.way == "mouse":
            target.click()
        else:
            self.reach(target)
            self.page.keyboard.press("Space" if target.get_attribute("type") in ("checkbox", "radio") else "Enter")

    def write(self, target: Locator, text: str) -> None:
        """Types into a field and takes it."""
        self.did(f"write {text} into {target}")
        self.enter(target)
        expect(target).to_be_focused()
        # On a screen of glass its keyboard does this: "Select all", letters, "Next".
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)
        self.page.keyboard.press("Tab")

    def enter(self, target: Locator) -> None:
        """Puts the focus into a field."""
        if self.way == "finger":
            self.tap(target)
        elif self.way == "mouse":
            target.click()
        else:
            self.reach(target)

    def choose(self, target: Locator, value: str | None = None, label: str | None = None) -> None:
        """Makes a choice in a list.

        By mouse and finger the list that comes up is the system's own, which no test can reach: the choice is set. By
        keyboard the arrow keys go from choice to choice in the closed list, and each one on the way is taken.
        """
        self.did(f"choose {value or label} in {target}")
        if self.way != "keyboard":
            expect(target).to_be_visible()
            if self.way == "finger":
                self.in_sight(target)
            target.select_option(**({"value": value} if value is not None else {"label": label}))
            return
        self.reach(target)
        for _ in range(80):
            now, wanted = target.evaluate(
                """(list, [value, label]) => [list.selectedIndex, [...list.options].findIndex(
                    (one) => value === null ? one.label.trim() === label : one.value === value)]""",
                [value, label],
            )
            assert wanted >= 0, f"{target} has no {value or label}"
            if now == wanted:
                return
            expect(target).to_be_focused()
            self.page.keyboard.press("ArrowDown" if now < wanted else "ArrowUp")
        raise AssertionError(f"the arrow keys do not come to {value or label} in {target}")

    def place(self, x: float, y: float) -> None:
        """Acts at a place on the floor, mm: with the tool that is in use, or on what lies there."""
        self.did(f"place at {x:g}, {y:g}")
        # A step that has just been opened may still change the room for the drawing: a hand waits until it stands.
        self.bench.settled()
        self.page.evaluate(FRAMES)
        if self.way == "finger":
            self.touch(*self.bench.screen(x, y))
        elif self.way == "mouse":
            self.bench.click(x, y)
        else:
            if not self.page.evaluate("() => document.activeElement.id === 'stage'"):
                self.page.keyboard.press("Alt+d")
            self.page.keyboard.press("ArrowRight")
            cursor_to(self.bench, x, y)
            self.page.keyboard.press("Enter")
        self.bench.settled()

    def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Drags from one place to another, mm; by keyboard what is selected is moved by the arrow keys instead."""
        self.did(f"drag from {start} to {end}")
        self.bench.settled()
        if self.way == "mouse":
            self.bench.press(*start)
            self.bench.drag_to(*end)
            self.page.mouse.up()
        elif self.way == "finger":
            (ax, ay), (bx, by) = self.bench.screen(*start), self.bench.screen(*end)
            self._send("touchStart", (ax, ay))
            for k in range(1, 7):
                self._send("touchMove", (ax + (bx - ax) * k / 6, ay + (by - ay) * k / 6))
            self._send("touchEnd")
        else:
            self.page.keyboard.press("Alt+d")
            level, upright = ("ArrowLeft", "ArrowRight"), ("ArrowDown", "ArrowUp")
            for far, keys in ((end[0] - start[0], level), (end[1] - start[1], upright)):
                tenths = round(abs(far) * 10)
                for held, size in (("Shift+", 100), ("", 10), ("Control+", 1)):
                    for _ in range(tenths // size):
                        self.page.keyboard.press(held + keys[far > 0])
                    tenths %= size
        self.bench.settled()

    def step(self, title: str) -> None:
        """Goes to a step: by keyboard with its shortcut."""
        button = self.page.get_by_role("navigation", name="Steps").get_by_role("button", name=title)
        if self.way == "keyboard":
            self.did(f"step {title}")
            number = button.evaluate("(e) => [...e.closest('nav').querySelectorAll('button')].indexOf(e) + 1")
            self.page.keyboard.press(f"Alt+{number}")
        else:
            self.press(button)
        expect(self.page.get_by_role("heading", name=title, exact=True, level=2)).to_be_visible()

    def tool(self, name: str) -> None:
        """Takes a tool from the column beside the drawing."""
        if self.way != "keyboard":
            self.press(self.page.locator(f'#tool-column [data-tool="{name}"]'))
            return
        self.did(f"tool {name}")
        self.page.keyboard.press("Alt+d")
        self.page.keyboard.press(LETTERS[name])

    def channel(self, *places: tuple[float, float]) -> None:
        """Draws a channel through places."""
        self.tool("channel")
        for place in places:
            self.place(*place)

    def item(self, id_: str) -> None:
        """Selects an item in the list of all."""
        tab = self.page.get_by_role("tab", name="All items")
        rail = self.page.get_by_role("button", name="All items")
        if self.way == "keyboard":
            # One press leads to the list, from anywhere; the arrow keys go along it.
            self.did(f"item {id_}")
            self.page.keyboard.press("Alt+i")
            self.page.keyboard.press("Home")
            wanted = self.page.locator(f'#items [data-item="{id_}"]')
            for _ in range(200):
                if wanted.evaluate("(e) => e === document.activeElement"):
                    break
                self.page.keyboard.press("ArrowDown")
            expect(wanted).to_be_focused()
            self.page.keyboard.press("Enter")
            return
        if rail.is_visible():
            self.press(rail)
        elif tab.get_attribute("aria-selected") != "true":
            self.press(tab)
        self.press(self.page.locator(f'#items [data-item="{id_}"]'))

    def number(self, label: str, text: str) -> None:
        """Types into a field of what is selected."""
        self.write(self.bench.field(label), text)

    def option(self, label: str, value: str) -> None:
        """Chooses in a field of what is selected."""
        self.choose(self.bench.field(label), value=value)

    def add(self, label: str, words: str) -> None:
        """Adds a ready set or a part."""
        self.choose(self.page.get_by_label(label, exact=True), label=words)
        self.press(self.page.get_by_role("button", name=f"Add the {label.lower()}", exact=True))

    def task(self, words: Any) -> None:
        """Presses a button for something that takes a while, and waits until it is done."""
        self.press(self.page.get_by_role("button", name=words))
        expect(self.page.locator("#step-panel progress")).to_have_count(0, timeout=600_000)
        self.bench.settled()


def cursor_to(bench: Bench, x: float, y: float) -> None:
    """Moves the cursor on the drawing with the arrow keys, and reads where it is from the strip."""
    for _ in range(200):
        words = bench.page.locator("#place").inner_text()
        if not words:
            bench.page.keyboard.press("ArrowRight")
            continue
        at = [float(part.split()[0]) for part in words.split(", ")]
        dx, dy = x - at[0], y - at[1]
        if abs(dx) < 0.05 and abs(dy) < 0.05:
            return
        along, ways = (dx, ("ArrowLeft", "ArrowRight")) if abs(dx) >= 0.05 else (dy, ("ArrowDown", "ArrowUp"))
        hold = "Shift+" if abs(along) >= 10 else "" if abs(along) >= 1 else "Control+"
        bench.page.keyboard.press(hold + ways[along > 0])
    raise AssertionError("the cursor did not get there")
