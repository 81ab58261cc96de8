"""Share a browser without a network, and pages opened in it as from a phone's storage."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fields import sample
from outside import chromium
from playwright.sync_api import Browser, CDPSession, ConsoleMessage, Page, sync_playwright

from striplay.handover import content_of
from striplay.laid_plan import Layout
from striplay.page.page import encode

FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
SIZES = {"phone": (390, 844), "desk": (1280, 800)}


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A headless Chromium."""
    path = chromium()
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=path, headless=True, args=FLAGS)
        yield launched
        launched.close()


@dataclass
class Opened:
    """A field page as it is opened in the browser.

    Attributes:
        page: the browser's page.
        layout: what it shows.
        asked: addresses that it asked for.
        faults: what its script failed at, or was refused.
    """

    page: Page
    layout: Layout
    asked: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def devtools(self) -> CDPSession:
        """The browser's own tools."""
        return self.page.context.new_cdp_session(self.page)

    def text(self, part: str) -> str:
        """Give the text of a part of the page."""
        return self.page.locator(f"#{part}").inner_text()

    def facts(self, part: str) -> dict[str, str]:
        """Give what a list of facts tells, by its labels."""
        rows = self.page.locator(f"#{part} > div")
        told: dict[str, str] = rows.evaluate_all(
            "rows => Object.fromEntries(rows.map(row => [...row.children].map(c => c.textContent)))"
        )
        return told

    def box(self) -> dict[str, float]:
        """Give where the map stands on the page, in pixels."""
        found = self.page.locator("#over").bounding_box()
        assert found
        return dict(found)

    def view(self) -> tuple[float, float, float]:
        """Give the middle of the map, in meters on the plane, and pixels to a meter."""
        east, north, scale = (self.page.locator("#base").get_attribute("data-view") or "").split()
        return float(east), float(north), float(scale)

    def meters(self, x: Any, y: Any) -> Any:
        """Give the places on the plane of pixels of the map, (2,) or (2, n)."""
        (east, north, scale), box = self.view(), self.box()
        return np.array(
            [east + (x - box["width"] / 2) / scale, north - (y - box["height"] / 2) / scale]
        )

    def pixels(self, east: float, north: float) -> tuple[float, float]:
        """Give the pixel of the map of a place on the plane."""
        (middle_e, middle_n, scale), box = self.view(), self.box()
        x = box["width"] / 2 + (east - middle_e) * scale
        return x, box["height"] / 2 - (north - middle_n) * scale

    def tap(self, x: float, y: float) -> None:
        """Tap the map at a pixel of it."""
        box = self.box()
        self.page.mouse.click(box["x"] + x, box["y"] + y)

    def settle(self) -> None:
        """Wait until what was asked for is drawn."""
        self.page.evaluate(
            "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"
        )

    def stand_at(self, east: float, north: float, accuracy: float = 3.0) -> None:
        """Set the place that the phone finds."""
        plane = self.layout.ground.plane
        longitude, latitude = plane.to_lonlat(np.array([[east, north]]))[0].tolist()
        self.page.context.set_geolocation(
            {"longitude": longitude, "latitude": latitude, "accuracy": accuracy}
        )


def _fault(message: ConsoleMessage) -> list[str]:
    """Give what a line of the browser's log tells against the page."""
    return [message.text] if message.type == "error" else []


_MADE: dict[int, tuple[Layout, bytes]] = {}


def _page_of(layout: Layout) -> bytes:
    """Give the field page of a layout, made once; a layout that is held keeps its number."""
    if id(layout) not in _MADE:
        _MADE[id(layout)] = (layout, encode(content_of(layout))["field.html"])
    return _MADE[id(layout)][1]


Open = Callable[..., Opened]


@pytest.fixture
def open_page(browser: Browser, tmp_path: Path) -> Iterator[Open]:
    """A function that opens a layout's field page from a file, without a network.

    What its script fails at, or what it asks for besides itself, fails the test at its end.
    """
    opened: list[Opened] = []

    def open_it(
        layout: Layout | None = None,
        size: str = "phone",
        mode: str = "light",
        *,
        title: str | None = None,
        script: str = "",
        **context: Any,
    ) -> Opened:
        layout = sample("pond_ell") if layout is None else layout
        if title is not None:
            layout = replace(layout, plan=layout.plan.model_copy(update={"title": title}))
        file = tmp_path / "field.html"
        file.write_bytes(_page_of(layout))
        width, height = SIZES[size]
        made = browser.new_context(
            viewport={"width": width, "height": height}, offline=True, color_scheme=mode,
            has_touch=size == "phone", **context,
        )  # fmt: skip
        if script:
            made.add_init_script(script)
        found = Opened(made.new_page(), layout)
        found.page.on("request", lambda request: found.asked.append(request.url))
        found.page.on("pageerror", lambda error: found.faults.append(str(error)))
        found.page.on("console", lambda message: found.faults.extend(_fault(message)))
        found.page.goto(file.as_uri())
        found.settle()
        opened.append(found)
        return found

    yield open_it
    for one in opened:
        one.page.context.close()
        assert one.faults == []
        assert [url for url in one.asked if not url.endswith("/field.html")] == []
