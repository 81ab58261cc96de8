"""Measure what machines drive from outside: by the tables and the plan's text, with shapely alone.

A check gives a line for each place that falls short, in meters east and north of the field's
middle. Tolerances stand beside what they are for.
"""

from itertools import pairwise

import matrix
import numpy as np
import pytest
import shapely
from fields import FOOT_M

ENDS_M = {"straight": 0.05, "curved": 0.5}
"""So far a pass may stop short of its row: along a curve, ends slant by a chord's turn."""
SHORTEST_M = 5.0
"""A shorter pass is none that a driver would make."""
TOLD_M = 3 * FOOT_M
"""A machine that runs out of the field by more is named."""
DRAWN_M = 0.05
"""Borders, of the field and of what stands in it, are drawn so well."""
BIT_M = 10.0
"""Two passes on one line, no farther apart with their own strip between them, are one in bits."""
SIDE_M = 0.5
"""Passes nearer than this across travel are on one line."""
MOST = 40
"""So many places are named at once."""


def hold(check, cases):
    """Gather what falls short over cases, and fail with all of it."""
    found = [f"{case}: {line}" for case in cases for line in check(matrix.laid(case))]
    if found:
        pytest.fail("\n".join([f"{len(found)} fall short", *found[:MOST]]), pytrace=False)


def at(place):
    """Write where something is, on the whole."""
    x, y = shapely.get_coordinates(place).mean(axis=0)
    return f"at ({x:.0f}, {y:.0f})"


def named(one):
    """Name a pass."""
    return (
        f"{one.operation} {one.machine} {one.number} ({one.place}, {one.crop}, strip {one.strip})"
    )


def over_strips(laid, operation):
    """Give the working passes of an operation over strips, not headland."""
    working = laid.working
    return working[(working["operation"] == operation) & (working["place"] == "strips")]


def machine_of(laid, operation, crop, layer):
    """Name the machine that plants or harvests rows; None where no harvester is named, or none."""
    if operation == "plant":
        return laid.planter_of(crop, layer)
    harvester = laid.of_crop(crop).get("harvester")
    return None if harvester == "none" else harvester


def ends_m(laid):
    return ENDS_M["straight" if laid.case.path in matrix.STRAIGHT else "curved"]


def missed(laid, operation):
    """Say which rows lie under no swath of the machine that works their crop.

    Args:
        laid: a case.
        operation: plant or harvest.
    """
    passes = over_strips(laid, operation)
    for (crop, layer), rows in laid.layout.rows.groupby(["crop", "layer"]):
        machine = machine_of(laid, operation, crop, layer)
        if machine is None:
            continue
        carries = np.array([laid.sown(crop) <= laid.sown(name) for name in passes["crop"]])
        ground = passes.loc[(passes["machine"] == machine) & carries, "swath"].to_numpy()
        tree = shapely.STRtree(ground)
        for strip, own in rows.groupby("strip"):
            lines = shapely.multilinestrings(own.geometry.to_numpy())
            near = ground[tree.query(lines, predicate="intersects")]
            for one in near:  # one by one: a union of swaths a hair apart may lose some of them
                lines = shapely.difference(lines, one)
            bare = shapely.get_parts(lines)
            bare = bare[shapely.length(bare) > ends_m(laid)]
            if len(bare):
                what = f"{operation} {crop} (layer {layer}) by {machine}"
                yield f"{what}: {shapely.length(bare).sum():.1f} m of strip {strip} {at(bare[0])}"


def on_lines(laid):
    """Give the working passes over each strip, machine and crop, with the strip's polygons.

    The planter's passes of a row set run over several strips.
    """
    working, strips = laid.working, laid.layout.strips
    polygons = strips.geometry.to_numpy()
    sets = laid.raw.get("row_set", [{}])[0].get("planter")
    several = (working["operation"] == "plant") & (working["machine"] == sets)
    working = working.assign(band=working["strip"].where(~several, 0))
    job = ["operation", "machine", "crop", "band"]
    for (*_, band), own in working[working["place"] == "strips"].groupby(job):
        yield own, polygons[strips["strip"] == band] if band else polygons


def gaps(passes, polygons, reach_m):
    """Give the gaps where one pass stops and another goes on, on the same line over some ground."""
    plain = passes[passes.geom_type == "LineString"]
    found = [_tips(line) for line in plain.geometry]
    tip, way = (np.concatenate(each) for each in zip(*found, strict=True))
    number = np.repeat(plain["number"].to_numpy(), 2)
    apart = tip[None, :] - tip[:, None]
    ahead_m = (apart * way[:, None]).sum(axis=2)
    side_m = np.abs(apart[..., 0] * way[:, None, 1] - apart[..., 1] * way[:, None, 0])
    onward = (ahead_m > -DRAWN_M) & (ahead_m < reach_m) & (way @ way.T < -OPPOSITE)
    for i, j in np.argwhere(onward & (side_m < SIDE_M) & (number[:, None] < number[None, :])):
        gap = shapely.LineString([tip[i], tip[j]])
        if shapely.buffer(shapely.union_all(polygons), 0.001).covers(gap):
            yield number[i], number[j], gap


OPPOSITE = 0.8
"""Cosine of the angle between two ways that may still be one, bent."""


def _tips(line):
    """Give both ends of a line, and which way it would go on."""
    points = shapely.get_coordinates(line)
    tip = points[[0, -1]]
    way = tip - points[[1, -2]]
    return tip, way / np.hypot(*way.T)[:, None]


def lifted(laid):
    """Say which machines are lifted where the field has nothing to lift through."""
    for one in laid.passes[~laid.passes["working"]].itertuples():
        yield f"{named(one)}: lifted {at(one.geometry)}"


def torn(laid):
    """Say which stretches of one pass don't follow each other, or don't take turns."""
    passes = laid.passes
    several = passes.duplicated(["operation", "machine", "number"], keep=False)
    for _, own in passes[several].groupby(["operation", "machine", "number"]):
        for before, after in pairwise(own.itertuples()):
            stop = shapely.get_point(before.geometry, -1)
            begin = shapely.get_point(after.geometry, 0)
            if stop.distance(begin) > SIDE_M:
                yield f"{named(after)}: begins {stop.distance(begin):.1f} m from where it stopped"
            if before.working == after.working:
                yield f"{named(after)}: two stretches of one kind {at(begin)}"
