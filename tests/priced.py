"""Plans with yields and prices, invented, for the tests of money."""

from pathlib import Path

import shapely
from fields import SHED, STRIPS, lay_on

import striplay
from striplay.economics.pay import Pay
from striplay.laid_plan import Layout

KEYS = {
    "corn": 'yield = "190 bu/acre"\nprice = "4.50 per bu"\n',
    "soybean": 'yield = "55 bu/acre"\nprice = "11.00 per bu"\n',
    "wheat": 'yield = "80 bu/acre"\nprice = "6 per bu"\n',
}  # fmt: skip
EIGHT = STRIPS.replace("rows = 16", "rows = 8").replace("rows = 48", "rows = 8")
EIGHT_SHED = SHED.replace("rows = 16", "rows = 8")
PURDUE = """
[[edges]]
crop = "corn"
beside = "soybean"
gain = 0.258
source = "Purdue"
[[edges]]
crop = "soybean"
beside = "corn"
gain = -0.266
source = "Purdue"
"""
"""Outside rows of 8-row strips: West & Griffith, Journal of Production Agriculture 5:107, 1992."""


def priced(shed: str = SHED, **more: str) -> str:
    """Give a shed with yields and prices, and more keys by crop."""
    for crop, keys in KEYS.items():
        added = keys + more.get(crop, "")
        shed = shed.replace(f"[crops.{crop}]\n", f"[crops.{crop}]\n{added}")
    return shed


def pay_on(
    folder: Path, shape: shapely.Geometry, *, tables: str = "", **parts: str
) -> tuple[Layout, Pay]:
    """Lay a plan with yields and prices, and say whether it pays."""
    parts["strips"] = parts.get("strips", STRIPS) + tables
    layout = lay_on(folder, shape, **({"shed": priced()} | parts))
    return layout, striplay.pay(layout)
