"""Build routes by hand, on the plane in meters, for the tests of amounts, fills and hours."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import shapely

from striplay.files.plan import read_plan
from striplay.operations.jobs import Job
from striplay.operations.route import Linked, Links, Route
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.section.systems import sections_of

FARM = """
units = "{units}"
[headland]
where = "around"
passes = 2
machine = "planter"
crop = "corn"
[direction]
heading = 0
[machines.planter]
does = "plant"
rows = 12
spacing = "30 in"
{planter}
[machines.drill]
does = "plant"
width = "30 ft"
[machines.head]
does = "harvest"
rows = 8
spacing = "30 in"
{head}
[machines.sprayer]
does = "spray"
width = "90 ft"
{sprayer}
[machines.cart]
does = "haul"
{machines}
[crops.corn]
planter = "planter"
harvester = "head"
{corn}
[crops.soybean]
planter = "planter"
harvester = "head"
{soybean}
{crops}
{strips}
"""
STRIPS = '[[strips]]\ncrop = "corn"\nrows = 12\n[[strips]]\ncrop = "soybean"\nrows = 12\n'


def plan_with(folder: Path, *, units: str = "us", strips: str = STRIPS, **parts: str) -> Plan:
    """Read a plan whose machines and crops have these lines."""
    names = ("planter", "head", "sprayer", "machines", "corn", "soybean", "crops")
    keys = {name: parts.get(name, "") for name in names}
    path = folder / "plan.toml"
    path.write_text(FARM.format(units=units, strips=strips, **keys))
    return read_plan(path)


def section_with(plan: Plan) -> Section:
    """Give the set of a plan."""
    return sections_of(plan)[0]


def job_of(
    does: str, *crops: str, day: str | None = None, machine: str = "", **parts: object
) -> Job:
    """Make a job by its usual machine."""
    usual = {"plant": "planter", "harvest": "head", "spray": "sprayer"}
    name = f"{does} {' and '.join(crops)}"
    when = None if day is None else date.fromisoformat(day)
    return replace(Job(name, does, machine or usual[does], crops, when), **parts)


def sown_shares(section: Section, job: Job, crops: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Give the share of what passes plant that carries each layer, as their rows lie in the set."""
    found = np.zeros((len(crops), len(section.layers)))
    for index in np.flatnonzero(places == "strips"):
        rows = [
            section.rows[row]
            for one in section.passes
            if (one.operation, one.machine, one.crop) == (job.does, job.machine, crops[index])
            for row in one.rows
        ]
        for row in rows:
            for layer in row.sown:
                share = row.spacing_m / sum(each.spacing_m for each in rows)
                found[index, section.layers.index(layer)] += share
    return found


def route_of(
    plan: Plan,
    job: Job,
    length_m: float | Sequence[float],
    count: int = 1,
    *,
    crop: Sequence[str] | None = None,
    place: Sequence[str] | None = None,
    worked_m: Sequence[float] | None = None,
    width_m: float | None = None,
    kind: Sequence[str] | None = None,
    link_m: float | Sequence[float] = 0.0,
    reverse_m: float | Sequence[float] = 0.0,
) -> Route:
    """Drive straight passes north, each at the machine's full width unless `width_m` is worked."""
    lengths = np.full(count, length_m) if np.isscalar(length_m) else np.asarray(length_m, float)
    count, wide_m = len(lengths), plan.machines[job.machine].width_m
    at = np.arange(count) * wide_m
    lines = np.array([shapely.LineString([(x, 0), (x, y)]) for x, y in zip(at, lengths)])  # noqa: B905
    worked = lengths if worked_m is None else np.asarray(worked_m, float)
    kinds = ["gate", *["bulb"] * (count - 1), "gate"] if kind is None else kind
    way = np.full(count + 1, shapely.LineString([(0, 0), (1, 0)]), dtype=object)
    links = Links(
        way,
        np.broadcast_to(np.asarray(link_m, float), count + 1).copy(),
        np.broadcast_to(np.asarray(reverse_m, float), count + 1).copy(),
        np.array(kinds, dtype=object),
        np.zeros((count + 1, 3)),
    )
    crops = np.array(list(crop or [job.crops[0]] * count), dtype=object)
    places = np.array(list(place or ["strips"] * count), dtype=object)
    area_m2 = worked * (wide_m if width_m is None else width_m)
    return Route(
        job=job,
        width_m=wide_m,
        crop=crops,
        place=places,
        block=np.zeros(count, dtype=np.int64),
        owner=np.arange(count),
        line=lines,
        worked_m=worked,
        area_m2=area_m2,
        sown_m2=area_m2[:, None] * sown_shares(section_with(plan), job, crops, places),
        rows_on=np.full(count, "", dtype=object),
        stops_at=np.full(count, "", dtype=object),
        between=lambda: Linked(links),
        beside_m=0.0,
    )
