"""Drive a layout's jobs side by side, for tests of what is told of routes."""

import numpy as np
import shapely
from fields import SHED

from striplay.drive import swept_blocks
from striplay.operations.unloading import driven

SET = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 24\n'
NO_EDGE = '[headland]\nwhere = "none"\n'
SOWN = {"corn": "sown = 2026-05-01\nharvested = 2026-10-10",
        "soybean": "sown = 2026-05-20\nharvested = 2026-09-20"}  # fmt: skip


def dated(shed=SHED, days=SOWN):
    """Give machines and crops with the days crops are sown and harvested."""
    for crop, said in days.items():
        shed = shed.replace(f"[crops.{crop}]\n", f"[crops.{crop}]\n{said}\n")
    return shed


def blocks_of(layout):
    """Give a layout's blocks, swept."""
    return swept_blocks(layout.plan, layout.laid)


def north(route):
    """Tell which passes run north."""
    begin, end = (
        shapely.get_coordinates(shapely.line_interpolate_point(route.line, at, normalized=True))
        for at in (0.0, 1.0)
    )
    return end[:, 1] > begin[:, 1]


def side_by_side(route):
    """Give a route with its passes over strips from the west, the first north and back and forth.

    Those of the headland stay first at harvest, and last else.
    """
    edge = np.flatnonzero(route.place == "headland")
    strips = np.flatnonzero(route.place != "headland")
    x = shapely.get_coordinates(shapely.centroid(route.line[strips]))[:, 0]
    strips = strips[np.argsort(x)]
    parts = [edge, strips] if route.job.does == "harvest" else [strips, edge]
    order = np.concatenate(parts)
    wished = np.zeros(len(order), dtype=bool)
    among = np.isin(order, strips)
    wished[among] = np.arange(len(strips)) % 2 == 0
    return driven(route, order, among & (wished != north(route)[order]))
