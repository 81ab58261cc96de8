"""Make routes by hand of a layout's passes, side by side, for tests of what is told of them."""

from dataclasses import fields, replace

import numpy as np
import shapely
from fields import SHED

from striplay.operations.jobs import crops_of, jobs_of
from striplay.operations.passes import Swept
from striplay.operations.route import Links, Route

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
    laid, start = layout.laid, layout.plan.direction.start
    return [
        Swept(laid.section, one.across, one.pieces, one.path,
              start if one.path.around is None else "right", index)
        for index, one in enumerate(laid.blocks)
    ]  # fmt: skip


def routes_of(layout, days=None):
    """Give every job of a layout as a route, its passes in the order drawn, without ways between.

    Args:
        layout: a field laid.
        days: when each planting and harvest happens; the plan's own where left out.
    """
    days = layout.season.days if days is None else days
    jobs = jobs_of(layout.plan, layout.section, days)
    return [route for job in jobs if (route := _route(layout, job)) is not None]


def _route(layout, job):
    mine = [
        one
        for one in layout.driven
        if (one.operation, one.machine) == (job.does, job.machine)
        and set(one.crop.split(" + ")) <= set(crops_of(job))
    ]
    count = sum(len(one) for one in mine)
    if not count:
        return None

    def each(name):
        return np.concatenate([np.full(len(one), getattr(one, name)) for one in mine])

    none, lines = np.zeros(count + 1), np.concatenate([one.line for one in mine])
    empty = np.full(count, "", dtype=object)
    links = Links(np.full(count + 1, None), none, none, np.full(count + 1, "", dtype=object))
    return Route(
        job=job, width_m=mine[0].width_m, crop=each("crop").astype(object),
        place=each("place").astype(object), block=each("block"),
        owner=np.concatenate([one.owner for one in mine]), line=lines,
        worked_m=shapely.length(lines), area_m2=shapely.length(lines) * mine[0].width_m,
        rows_on=empty, stops_at=empty, links=links, beside_m=0.0,
    )  # fmt: skip


def picked(route, order, back=None):
    """Give a route with some of its passes, in another order, some turned round."""
    names = [one.name for one in fields(Route)]
    arrays = {n: getattr(route, n)[order] for n in names
              if isinstance(getattr(route, n), np.ndarray)}  # fmt: skip
    if back is not None:
        arrays["line"] = np.where(back, shapely.reverse(arrays["line"]), arrays["line"])
    return replace(route, **arrays)
