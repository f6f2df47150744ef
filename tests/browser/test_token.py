"""The page opens by the address that the program prints, keeps working, and shows no token where it can be read off."""

from __future__ import annotations

from playwright.sync_api import Browser, expect

from tests.browser.conftest import Server


def test_the_printed_address_opens_the_page_and_a_stranger_reads_why_not(browser: Browser, server: Server) -> None:
    plate = server.post("/api/plates", {"example": "small-board"})["id"]
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.goto(server.address)
    expect(page.locator("body")).to_contain_text("Open the whole address that the program printed")
    page.goto(f"{server.address}?token={server.token}#plate={plate}")
    expect(page.locator("#world g.plan")).to_be_attached(timeout=30_000)
    assert page.url == f"{server.address}#plate={plate}"
    assert server.token not in page.evaluate("document.cookie + location.href")
    # Without the address, in the same browser: the cookie stays.
    page.reload()
    expect(page.locator("#world g.plan")).to_be_attached(timeout=30_000)
    (cookie,) = context.cookies()
    assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")
    context.close()
