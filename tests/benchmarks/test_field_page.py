"""Speed of the field page on a slow phone. No timed assertion: read what is printed.

Run with `pytest tests/benchmarks/test_field_page.py --benchmark-only -s`. The browser's own
throttle makes its processor six times as slow.
"""

import pytest
from fields import lay_on, square
from outside import chromium
from playwright.sync_api import sync_playwright

from striplay.handover import content_of
from striplay.page.page import encode

SLOWER = 6
TAPS = """async (taps) => {
  const drawn = () => new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
  over.setPointerCapture = () => {};
  const told = [];
  for (const [x, y] of taps) {
    await drawn();
    const before = performance.now();
    const box = over.getBoundingClientRect();
    for (const kind of ["pointerdown", "pointerup"]) {
      over.dispatchEvent(new PointerEvent(kind, {
        bubbles: true, pointerId: 1, clientX: box.x + x, clientY: box.y + y,
      }));
    }
    await drawn();
    told.push(performance.now() - before);
  }
  return told.sort((one, other) => one - other);
}"""


@pytest.mark.parametrize("along", ["heading = 0", "pivot = [-93.5, 42.0]"])
def test_taps_on_65_ha(benchmark, tmp_path, along):
    benchmark.pedantic(lambda: None, rounds=1)
    layout = lay_on(tmp_path, square(), direction=along)
    file = tmp_path / "field.html"
    file.write_bytes(encode(content_of(layout))["field.html"])
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium(), args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": 390, "height": 844}, device_scale_factor=3)
        page.goto(file.as_uri())
        tools = page.context.new_cdp_session(page)
        tools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        taps = [[20 + 17 * n, 60 + 11 * n] for n in range(20)]
        print(f"\n{along}: {file.stat().st_size / 1000:.0f} kB, {SLOWER} times slower")
        for tab in ("strip", "passes"):
            page.click(f"#tab-{tab}")
            times = page.evaluate(TAPS, taps)
            print(f"a tap, {tab}: {times[len(times) // 2]:.0f} ms, the slowest {times[-1]:.0f} ms")
        browser.close()
