"""A telephone made of Chromium: no network, fingers by the protocol of its developer tools."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Browser, CDPSession, Page, sync_playwright

#: Software drawing, and nothing of the browser's own that would ask the network.
ARGUMENTS = (
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
)
PHONE = (390, 844)
Point = tuple[float, float]


@dataclass
class Phone:
    """An opened page, what it asked for and what it complained about."""

    page: Page
    fingers: CDPSession | None
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def touch(self, *paths: tuple[Point, ...]) -> None:
        """One finger a path, all moving together; a path of one point is a tap."""
        assert self.fingers is not None
        for step in range(len(paths[0])):
            points = [{"x": path[step][0], "y": path[step][1], "id": n} for n, path in enumerate(paths)]
            kind = "touchMove" if step else "touchStart"
            self.fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        self.fingers.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        self.page.wait_for_timeout(250)

    def eye(self) -> list[float]:
        """Where the eye of the picture stands."""
        eye: list[float] = self.page.evaluate("window.evenfall.eye()")
        return eye

    def spot(self, part: str) -> Point | None:
        """Where on the screen a part is seen."""
        found = self.page.evaluate("id => window.evenfall.spot(id)", part)
        return None if found is None else (found["x"], found["y"])


@contextmanager
def open_browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        path = shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def open_page(
    browser: Browser, file: Path, size: tuple[int, int] = PHONE, *, scripts: bool = True
) -> Iterator[Phone]:
    """Open a file without network; with scripts it is waited for until it can be turned."""
    is_phone = size[0] < 800
    context = browser.new_context(
        offline=True,
        viewport={"width": size[0], "height": size[1]},
        has_touch=is_phone,
        is_mobile=is_phone,
        java_script_enabled=scripts,
    )
    try:
        page = context.new_page()
        phone = Phone(page, context.new_cdp_session(page) if is_phone else None)
        page.on("request", lambda request: phone.requests.append(request.url))
        page.on("console", lambda message: phone.complaints.append(message.text))
        page.on("pageerror", lambda error: phone.complaints.append(str(error)))
        page.goto(file.as_uri())
        if scripts:
            page.wait_for_selector("html[data-ready=yes]", timeout=30_000)
            page.wait_for_timeout(300)
        yield phone
    finally:
        context.close()
