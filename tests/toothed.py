"""Draw toothed and comb-shaped fields, and lay them every way: what real digitizing leaves."""

import numpy as np
import shapely
from fields import AROUND, write_line, write_plan_for, write_shapes

from striplay.errors import StriplayError
from striplay.files.plan import read_plan
from striplay.flow import lay

ENDS = AROUND.replace("around", "ends")
NONE = '[headland]\nwhere = "none"\n'
HEADLANDS = {"around": AROUND, "ends": ENDS, "none": NONE}
COURSES = ("straight", "best", "along", "pivot", "cut", "parts", "suggest")


def toothed_field(random, most=60):
    """Give a field with teeth, notches, prongs or steps along its sides, turned at random."""
    long_m, wide_m = random.uniform(120, 500), random.uniform(80, 400)
    kind = random.choice(["saw", "comb", "steps", "needles", "mixed", "ring", "thin"])
    step_m = random.choice([0.4, 1.0, 3.0, 8.0, 25.0, 60.0])
    count = int(np.clip(long_m / step_m, 3, random.choice([6, 20, 60, most])))
    along_m = np.linspace(-long_m / 2, long_m / 2, 2 * count + 1)
    deep_m = {
        "saw": random.choice([0.05, 0.5, 2.0, 10.0, 30.0]),
        "comb": random.uniform(0.2, 0.8) * wide_m,
        "steps": random.uniform(0.5, 20.0),
        "needles": random.uniform(1.0, 0.9 * wide_m),
        "mixed": random.uniform(0.5, 0.4 * wide_m),
        "ring": random.uniform(0.5, 15.0),
        "thin": random.uniform(0.1, 5.0),
    }[kind]
    if kind == "thin":
        wide_m = random.uniform(6.0, 40.0)
    if kind == "ring":
        turn = np.arange(2 * count) / (2 * count) * 2 * np.pi
        radius = wide_m / 2 + deep_m * (np.arange(2 * count) % 2)
        points = np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])
    else:
        drop = deep_m * (np.arange(2 * count + 1) % 2)
        if kind in {"comb", "steps"}:  # square teeth: each level held for a step
            along_m = np.repeat(along_m, 2)[1:-1]
            drop = np.repeat(drop, 2)[:-2]
        if kind == "needles":
            thin_m = random.choice([1e-3, 0.05, 0.5])
            along_m = along_m + np.where(np.arange(len(along_m)) % 2, step_m / 2 - thin_m, 0.0)
            along_m = np.sort(np.clip(along_m, -long_m / 2, long_m / 2))
        if kind == "mixed":
            drop = drop * random.uniform(0, 1, len(drop))
        top = np.column_stack([along_m, wide_m / 2 - drop])
        low = np.array([[long_m / 2, -wide_m / 2], [-long_m / 2, -wide_m / 2]])
        if random.random() < 0.4:
            low = np.column_stack([along_m[::-1], -wide_m / 2 + 0.3 * drop[::-1]])
        points = np.concatenate([top, low])
    shape = shapely.make_valid(shapely.Polygon(points))
    if random.random() < 0.3:
        spot = shapely.Point(random.uniform(-0.3, 0.3, 2) * [long_m, wide_m])
        shape = shape.difference(spot.buffer(random.uniform(1, 20), quad_segs=2))
    shape = shapely.affinity.rotate(shape, random.choice([0.0, 90.0, random.uniform(0, 180)]))
    parts = shapely.get_parts(shape)
    land = [part for part in parts if part.geom_type == "Polygon"]
    return shapely.multipolygons(land) if land else toothed_field(random, most)


def write_toothed(folder, random, course=None, headland=None, most=60):
    """Write a plan for a field, at random where not told; give its path and what was taken."""
    field = toothed_field(random, most)
    course = course or str(random.choice(COURSES))
    curved = course in {"along", "pivot"}  # headland at the ends has no use with a curve
    headland = headland or str(random.choice(["around", "none"] if curved else list(HEADLANDS)))
    left, bottom, right, top = field.bounds
    heading = random.choice([0.0, 90.0, round(random.uniform(0, 180), 2) % 180])
    direction = f'heading = {heading}\nshortest = "{random.choice([66, 66, 300])} ft"'
    blocks = ""
    if course in {"best", "suggest"}:
        direction = 'heading = "best"'
    if course == "along":
        direction = 'along = "key.geojson"'
        xs = np.linspace(left - 30, right + 30, 9)
        ys = (bottom + top) / 2 + random.choice([0.0, 0.01, 0.1]) * (
            random.uniform(-1, 1, 9) * (top - bottom)
        )
        write_line(folder, shapely.LineString(np.column_stack([xs, ys])))
    if course == "pivot":
        x, y = (left + right) / 2, (bottom + top) / 2
        x, y = x + random.uniform(-40, 40), y + random.uniform(-40, 40)
        lon, lat = -93.5 + x / 82600, 42.0 + y / 111100
        direction = f"pivot = [{lon}, {lat}]"
    if course == "cut":
        turn = random.uniform(0, np.pi)
        way = 800 * np.array([np.cos(turn), np.sin(turn)])
        middle = np.array([(left + right) / 2, (bottom + top) / 2]) + random.uniform(-20, 20, 2)
        write_shapes(folder, shapely.LineString([middle - way, middle + way]))
        blocks = f'[[blocks]]\nfile = "cut.geojson"\nheading = {heading}\n'
    if course == "parts":
        middle = random.uniform(left, right)
        box = shapely.box(left - 5, bottom - 5, middle, top + 5)
        write_shapes(folder, shapely.affinity.rotate(box, random.uniform(-20, 20)))
        blocks = f'[[blocks]]\nfile = "cut.geojson"\nheading = {heading}\n'
    if course == "suggest":
        blocks = 'blocks = "suggest"\n'
    path = write_plan_for(folder, field, headland=HEADLANDS[headland], direction=direction)
    text = path.read_text()
    text = blocks + text if course == "suggest" else text + blocks
    if random.random() < 0.5:
        text = text.replace("rows = 48", "rows = 16")
    if random.random() < 0.3:
        passes = random.choice([1, 4])
        text = text.replace("passes = 2", f"passes = {passes}")
    path.write_text(text)
    return path, f"{course}, {headland}, {field.geom_type} of {shapely.get_num_coordinates(field)}"


def lay_or_refuse(path):
    """Lay a plan; a refusal of ours is as good, and given as None."""
    try:
        return lay(read_plan(path))
    except StriplayError:
        return None
