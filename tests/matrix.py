"""The matrix that machine passes are held to: systems, paths, headlands and fields of any shape.

All is made from seeds, so that a case is laid again from its name alone. The fields are invented.
"""

import math
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path

import geopandas as gpd
import numpy as np
import shapely
from fields import AROUND, PLANE, SHED, write_line, write_plan_for, write_shapes
from properties.test_systems_everywhere import MORE, SYSTEMS

from striplay import lay, read_plan

FOOT_M = 0.3048
UNITS_M = {"ft": FOOT_M, "in": FOOT_M / 12, "m": 1.0, "cm": 0.01}
HECTARE_M2 = 1e4

FARM = SHED + MORE
KINDS = ("convex", "concave", "holed", "several parts", "ragged")
HEADLANDS = {
    "around": AROUND,
    "ends": AROUND.replace("around", "ends"),
    "none": '[headland]\nwhere = "none"\n',
}
STRAIGHT = ("stated", "best", "blocks")
CURVED = ("along straight", "along bent", "pivot")
PATHS = (*STRAIGHT, *CURVED)
CLEARANCE_M = 10 * FOOT_M
OBSTACLES = {
    "nothing": "",
    "poles": '[obstacles]\nclearance = "10 ft"\n',
    "small polygons": '[obstacles]\nclearance = "10 ft"\n',
    "waterway square": "[obstacles]\nthrough = \"kind = 'waterway'\"\n",
    "waterway slanting": "[obstacles]\nthrough = \"kind = 'waterway'\"\n",
}


@dataclass(frozen=True)
class Case:
    """One run of the matrix.

    Attributes:
        system: one of `SYSTEMS`.
        path: one of `PATHS`.
        headland: one of `HEADLANDS`; at the ends only with straight paths.
        kind: of the field, one of `KINDS`.
        seed: of field, path and obstacles.
        hectares: size of the field.
        obstacles: one of `OBSTACLES`.
    """

    system: str
    path: str
    headland: str
    kind: str
    seed: int
    hectares: float = 8.0
    obstacles: str = "nothing"

    def __str__(self):
        beside = "" if self.obstacles == "nothing" else f" | {self.obstacles}"
        where = f"{self.headland} | {self.kind}, seed {self.seed}, {self.hectares:g} ha"
        return f"{self.system} | {self.path} | {where}{beside}"


def field_of(kind: str, seed: int, hectares: float) -> shapely.Geometry:
    """Make a field about the middle of the plane."""
    random = np.random.default_rng([KINDS.index(kind), seed])
    if kind == "convex":
        shape = _convex(random)
    elif kind == "ragged":
        shape = _ragged(random)
    else:
        shape = _concave(random)
    size = math.sqrt(hectares * HECTARE_M2 / shape.area)
    shape = shapely.affinity.scale(shape, size, size, origin=(0, 0))
    if kind == "holed":
        shape = _with_ponds(shape, random)
    if kind == "several parts":
        shape = _cut_by_lane(shape, random)
    shape = shapely.affinity.rotate(shape, random.uniform(0, 360), origin=(0, 0))
    middle = shape.centroid
    return shapely.affinity.translate(shape, -middle.x, -middle.y)


def _convex(random):
    points = random.uniform(-1, 1, (9, 2)) * [1, random.uniform(0.6, 1.0)]
    return shapely.MultiPoint(points).convex_hull


def _concave(random):
    """Give a skewed box without one corner, and with a wedge taken out of a side."""
    x, y = random.uniform(-0.2, 0.5, 2)
    wedge_x = random.uniform(-0.8, 0.3)
    wedge = [(wedge_x, -1), (wedge_x + 0.3, -1), (wedge_x + 0.2, random.uniform(-0.6, -0.3))]
    shape = shapely.box(-1, -0.8, 1, 0.8) - shapely.box(x, y, 2, 2) - shapely.Polygon(wedge)
    skew, slope = random.uniform(-0.25, 0.25, 2)
    return shapely.affinity.affine_transform(shape, [1, skew, slope, 1, 0, 0])


def _ragged(random):
    """Give a box with a creek along one side."""
    along = np.linspace(-1, 1, 160)
    turns, phase = random.uniform(2, 9, 3), random.uniform(0, 6, 3)
    wander = sum(0.05 * np.sin(k * along + p) for k, p in zip(turns, phase, strict=True))
    wander = wander + random.normal(0, 0.003, 160) - 0.7
    top = random.uniform(0.5, 0.9, 2)
    return shapely.Polygon([*np.column_stack([along, wander]), (1, top[0]), (-1, top[1])])


def _with_ponds(shape, random):
    for _ in range(random.integers(1, 3)):
        middle = _inside(shape, random, 50.0)
        angle = np.linspace(0, 2 * math.pi, 30, endpoint=False)
        radius = random.uniform(9, 28) * (1 + 0.25 * np.sin(2 * angle + random.uniform(0, 6)))
        pond = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
        shape = shape - shapely.Polygon(np.add(pond, middle.coords))
    return shape


def _cut_by_lane(shape, random):
    angle, half_m = random.uniform(0, math.pi), random.uniform(3, 8)
    ahead = 2000 * np.array([math.cos(angle), math.sin(angle)])
    middle = np.array(shape.centroid.coords[0])
    lane = shapely.LineString([middle - ahead, middle + ahead]).buffer(half_m, cap_style="flat")
    parts = shapely.get_parts(shape - lane)
    return shapely.MultiPolygon(list(parts[shapely.area(parts) > HECTARE_M2 / 2]))


def _inside(shape, random, margin_m):
    """Give a random place so far from the border; the middle of all that is, where none is met."""
    room = shape.buffer(-margin_m)
    low_x, low_y, high_x, high_y = shape.bounds
    for _ in range(400):
        place = shapely.Point(random.uniform(low_x, high_x), random.uniform(low_y, high_y))
        if room.contains(place):
            return place
    return shape.representative_point() if room.is_empty else room.representative_point()


def write_case(folder: Path, case: Case) -> Path:
    """Write a case's boundary, its other files and its plan; give the plan."""
    shape = field_of(case.kind, case.seed, case.hectares)
    random = np.random.default_rng([100 + PATHS.index(case.path), case.seed])
    heading_deg = _heading(shape, case.seed, random)
    direction, blocks = _direction(folder, case.path, shape, heading_deg, random)
    if case.obstacles != "nothing":
        _write_obstacles(folder, case, shape, heading_deg, random)
    return write_plan_for(
        folder,
        shape,
        headland=HEADLANDS[case.headland],
        direction=direction + "\n" + OBSTACLES[case.obstacles] + blocks,
        shed=FARM,
        strips=SYSTEMS[case.system],
        field="" if case.obstacles == "nothing" else 'obstacles = "obstacles.geojson"',
    )


def _heading(shape, seed, random):
    """Give a heading along the longest edge, or any."""
    ring = np.array(max(shapely.get_parts(shape), key=lambda part: part.area).exterior.coords)
    east, north = (ring[1:] - ring[:-1])[np.argmax(np.hypot(*(ring[1:] - ring[:-1]).T))]
    any_deg = random.uniform(0, 180)
    return round(math.degrees(math.atan2(east, north)) % 180 if seed % 2 else any_deg, 6) % 180


def _direction(folder, path, shape, heading_deg, random):
    """Give the lines under [direction] and the blocks, their files written."""
    start = f'start = "{random.choice(["left", "right"])}"'
    if path == "stated":
        return f"heading = {heading_deg}\n{start}", ""
    if path == "best":
        return f'heading = "best"\n{start}', ""
    if path == "pivot":
        corner = shapely.Point(shape.convex_hull.exterior.coords[0])
        center = random.choice([0.0, 0.0, 0.9]) * np.array(corner.coords)
        longitude, latitude = PLANE.to_lonlat(center)[0]
        return f"pivot = [{longitude:.9f}, {latitude:.9f}]", ""
    reach_m = shapely.hausdorff_distance(shape, shapely.Point(0, 0))
    if path == "blocks":
        return f"heading = 0\n{start}", _blocks(folder, reach_m, heading_deg, random)
    bend = 0.0 if path == "along straight" else random.choice([-1.0, 1.0]) * 0.4
    along = np.linspace(-1.3, 1.3, 120) * reach_m
    # an arc of 2.5 times the field's reach, so that no parallel of it crosses itself in the field
    across = random.uniform(-0.3, 0.3) * reach_m + bend * along**2 / (2 * reach_m)
    turn = math.radians(90 - heading_deg)
    way = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    write_line(folder, shapely.LineString(np.column_stack([along, across]) @ way))
    return f'along = "key.geojson"\n{start}', ""


def _blocks(folder, reach_m, heading_deg, random):
    """Write two blocks, and give their tables."""
    turn_deg = random.uniform(0, 180)
    both = (shapely.box(-3, -3, 0, 3), shapely.box(-3, -3, 3, 3))  # the first come first served
    both = [shapely.affinity.scale(one, reach_m, reach_m, origin=(0, 0)) for one in both]
    both = [shapely.affinity.rotate(one, turn_deg, origin=(0, 0)) for one in both]
    write_shapes(folder, *both, name="blocks.geojson", kinds=("one", "other"))
    other_deg = round((heading_deg + random.uniform(40, 140)) % 180, 6) % 180
    return "".join(
        f'[[blocks]]\nfile = "blocks.geojson"\nwhere = "kind = \'{kind}\'"\nheading = {deg}\n'
        for kind, deg in (("one", heading_deg), ("other", other_deg))
    )


def _write_obstacles(folder, case, shape, heading_deg, random):
    if case.obstacles.startswith("waterway"):
        off_deg = 90.0 if case.obstacles.endswith("square") else random.choice([35.0, 50.0, 130.0])
        turn = math.radians(90 - heading_deg - off_deg)
        ahead = 2000 * np.array([math.cos(turn), math.sin(turn)])
        middle = np.array(_inside(shape, random, 40.0).coords[0])
        wide_m = random.uniform(4, 11)
        line = shapely.LineString([middle - ahead, middle + ahead])
        shapes, kind = [line.buffer(wide_m / 2, cap_style="flat")], "waterway"
    else:
        shapes, kind = _poles(shape, random, solid=case.obstacles != "poles"), "pole"
    write_shapes(folder, *shapes, name="obstacles.geojson", kinds=[kind] * len(shapes))


DEEP_M = 62.0
"""A place so deep in the field has rows before and behind it, headland or not."""


def _poles(shape, random, *, solid):
    """Give places deep in the field, and one near its fence: points, or polygons of 8 to 28 ft."""
    places = [_inside(shape, random, DEEP_M)]
    for _ in range(60):
        place = _inside(shape, random, DEEP_M)
        if shapely.distance(places, place).min() > 60.0 and len(places) < 4:
            places.append(place)
    inner = shape.buffer(-9.0).boundary
    places.append(inner.interpolate(random.uniform(0, 1), normalized=True))
    if not solid:
        return places
    across_m = FOOT_M * random.uniform(8, 28, len(places))
    return [
        shapely.affinity.rotate(shapely.box(*place.buffer(side / 2.83).bounds), 30 * number)
        for number, (place, side) in enumerate(zip(places, across_m, strict=True))
    ]


@dataclass(frozen=True, eq=False)
class Laid:
    """A case laid, with what was asked as the plan's text says it.

    Attributes:
        case: what was laid.
        raw: the plan, as TOML holds it.
        layout: the layout; only its public tables and accounts are read.
        shape: the field as it was made, on the layout's plane, its holes left out.
        obstacles: shapes of the obstacles' file, likewise.
    """

    case: Case
    raw: dict
    layout: object
    shape: shapely.Geometry
    obstacles: list

    def width_m(self, machine: str) -> float:
        """Width that a machine works."""
        one = self.raw["machines"][machine]
        return one["rows"] * meters(one["spacing"]) if "rows" in one else meters(one["width"])

    def widths_m(self, table) -> np.ndarray:
        """Width of the machine of each pass."""
        return np.array([self.width_m(name) for name in table["machine"]])

    def sown(self, name: str) -> frozenset:
        """Give the crops in a name such as "corn + soybean", a mixture's by its parts."""
        parts = self.raw.get("mixtures", {})
        names = name.split(" + ")
        return frozenset(crop for one in names for crop in parts.get(one, {}).get("parts", [one]))

    def of_crop(self, crop: str) -> dict:
        """Give the table of a crop, or of the mixture that has its parts."""
        for name, table in self.raw.get("mixtures", {}).items():
            if self.sown(name) == self.sown(crop):
                return table
        return self.raw["crops"][crop]

    def planter_of(self, crop: str, layer: int) -> str:
        """Name the machine that plants a row: between other rows, the seeder."""
        more = ("relay", "quick_crop", "after_harvest")
        between = [one for name in more for one in self.raw.get(name, [])]
        if layer:
            return between[layer - 1].get("seeder", self.of_crop(crop)["planter"])
        sets = self.raw.get("row_set", [])
        return sets[0]["planter"] if sets else self.of_crop(crop)["planter"]

    @cached_property
    def passes(self):
        """The passes; `working` where no machine is lifted."""
        passes = self.layout.passes
        if "working" in passes:
            return passes
        return passes.assign(working=True)

    @cached_property
    def working(self):
        """The passes, or stretches of them, that work; column `swath` is the ground under each."""
        working = self.passes[self.passes["working"]]
        half_m = self.widths_m(working) / 2
        return working.assign(swath=swath(working.geometry.to_numpy(), half_m + ACROSS_M))


ACROSS_M = 0.02
"""So far a machine may reach beyond its width: rows and passes are drawn to the millimeter."""


def swath(lines, half_m):
    """Give the ground under machines along lines, with flat ends."""
    return shapely.buffer(lines, half_m, cap_style="flat")


def meters(text: str) -> float:
    """Read a length such as "30 in"."""
    number, unit = text.split()
    return float(number) * UNITS_M[unit]


def laid_from(path: Path, case: Case) -> Laid:
    """Lay a plan that was written on the plane of the tests."""
    layout = lay(read_plan(path))
    shapes = [gpd.read_file(path.parent / "field.geojson")]
    obstacles = path.parent / "obstacles.geojson"
    shapes += [gpd.read_file(obstacles)] if obstacles.exists() else []
    here = [list(one.geometry.to_crs(layout.field.crs)) for one in shapes]
    field = shapely.union_all(here[0])
    raw = tomllib.loads(path.read_text())
    return Laid(case, raw, layout, field, here[1] if len(here) > 1 else [])


@cache
def laid(case: Case) -> Laid:
    """Lay a case, once for all tests of a process."""
    with tempfile.TemporaryDirectory() as folder:
        try:
            return laid_from(write_case(Path(folder), case), case)
        except Exception as error:
            error.add_note(str(case))
            raise


CURVED_SYSTEMS = {
    "along straight": ("strips", "row set", "relay", "mixed", "two crops between"),
    "along bent": tuple(SYSTEMS),
    "pivot": ("strips", "row set, one way", "quick crop", "a mixed strip beside a relay"),
}
"""Curves take longer to lay and to check, and are held on fewer systems and smaller fields."""


def every_case(path: str) -> Iterator[Case]:
    """Give the cases of a path, with headlands, fields and seeds in turn.

    A stated heading is cheap, and is held on every headland; the best one takes long, and is asked
    on two fields alone.
    """
    names = [name for name in HEADLANDS if path in STRAIGHT or name != "ends"]
    listed = ("strips", "relay") if path == "best" else CURVED_SYSTEMS.get(path, tuple(SYSTEMS))
    for number, system in enumerate(listed):
        turn = number + number // len(KINDS) + PATHS.index(path)
        chosen = names if path == "stated" else [names[turn % len(names)]]
        for place, headland in enumerate(chosen):
            kind = KINDS[(turn + place) % len(KINDS)]
            hectares = (3.0, 9.0, 5.0, 18.0)[(turn + place) % 4] if path in STRAIGHT else 3.0
            size = min(hectares, 5.0) if path == "best" else hectares
            yield Case(system, path, headland, kind, 10 * number + place, size)
    if path == "stated":
        yield Case("strips", path, "around", "ragged", 7, 40.0)
