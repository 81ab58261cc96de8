"""Draw hostile boundaries and plans by number, and judge what becomes of each.

`python tests/hostile.py fields FIRST COUNT` and `... plans FIRST COUNT` (in the root of the
repository, with it and `tests` on PYTHONPATH) judge many, in order and by number: a run that ended
goes on from the number last told.
"""

import json
import math
import random
import re
import resource
import sys
import tempfile
import time
import traceback
import warnings
from contextlib import nullcontext
from functools import cache
from pathlib import Path

import numpy as np
import shapely
from fields import AROUND, PLANE, SHED
from systems import MORE, SYSTEMS

from striplay import flow
from striplay.accounts.count import check_closed, count_laid
from striplay.errors import AccountsError, PassError, StriplayError
from striplay.files.plan import read_plan
from striplay.files.shapes import checked_shapes, read_shapes
from striplay.geometry import overlay
from striplay.ground import Plane, locate
from striplay.laid_plan import Layout
from striplay.layout.size import check_size
from striplay.tolerances import OVERLAY_M

SAMPLES = Path(__file__).parents[1] / "sample_fields"
MOST_LINES, MOST_LINE = 22, 1_200
"""Lines of a refusal, and characters of each: the longest lists cures, or crops that are known."""
MOST_S, MOST_MB = 60.0, 1_500.0
"""Processor time of a case, and memory of the run. The slowest known, 22 s, leads eight jobs round
the 300 ragged corners of a field without headland."""
SLOW_S = 10.0
"""A case that takes longer is told, to be looked into."""
NO_NUMBER = re.compile(r"\b(nan|inf|-inf|None)\b(?! the)|Traceback|object at 0x|Error\(")


# --- boundaries ---------------------------------------------------------------------------------


def star(draw, low=5, high=40, radius_m=None):
    """Give the corners of a star-shaped ring about the middle, (k, 2), m."""
    count = draw.randint(low, high)
    radius_m = radius_m or draw.choice([20, 40, 60, 90, 150, 250])
    angle = (np.arange(count) + [draw.random() * 0.7 for _ in range(count)]) / count * 2 * math.pi
    far = radius_m * np.array([draw.uniform(0.3, 1) for _ in range(count)])
    return np.column_stack([far * np.cos(angle) * draw.uniform(0.4, 2), far * np.sin(angle)])


def spikes(draw):
    ring = star(draw)
    for _ in range(draw.randint(1, 4)):
        at = draw.randrange(len(ring))
        tip = ring[at] * draw.uniform(1.5, 6)
        width = draw.choice([0.0, 1e-9, 1e-6, 1e-3, 0.1])
        ring = np.insert(ring, at + 1, [tip, ring[at] + [width, -width]], axis=0)
    return [[ring]]


def bow_tie(draw):
    ring = star(draw)
    one, other = sorted(draw.sample(range(len(ring)), 2))
    ring[[one, other]] = ring[[other, one]]
    return [[ring]]


def holes(draw):
    """A ring with holes that touch it, each other, cross it, lie outside or in one another."""
    ring = star(draw, radius_m=250)
    found = [ring]
    for _ in range(draw.randint(1, 6)):
        hole = star(draw, 3, 9, draw.choice([1, 8, 30, 80]))
        to = draw.choice(
            [ring[0], ring.mean(axis=0), (ring[0] + ring[1]) / 2, np.zeros(2), ring[0] * 3]
        )
        found.append(hole - hole[0] + to * draw.choice([1, 1, 0.6, 0.999999999]))
    return [found]


def sliver(draw):
    long_m, wide_m = draw.uniform(50, 3000), draw.choice([1e-9, 1e-3, 0.5, 3, 5, 12, 25])
    return [[np.array([(0, 0), (long_m, wide_m * draw.random()), (long_m, wide_m), (0, wide_m)])]]


def islands(draw):
    parts = []
    for _ in range(draw.randint(2, 7)):
        off = np.array([draw.uniform(-400, 400), draw.uniform(-400, 400)])
        parts.append([star(draw, 3, 12, draw.choice([3, 40, 120])) + off])
    return parts


def many_corners(draw):
    count = draw.choice([300, 300, 300, 1000])
    angle = np.arange(count) / count * 2 * math.pi
    rough = np.random.default_rng(draw.randrange(2**32)).normal(
        0, draw.choice([0, 0.01, 0.3, 3]), count
    )
    far = 200 + 40 * np.sin(draw.randint(2, 30) * angle) + rough
    return [[np.column_stack([far * np.cos(angle), far * np.sin(angle)])]]


def doubled(draw):
    ring = star(draw)
    ring = np.repeat(ring, [draw.choice([1, 1, 2, 9]) for _ in ring], axis=0)
    noise = draw.choice([0.0, 1e-12, 1e-9, 1e-6])
    return [[ring + np.random.default_rng(draw.randrange(2**32)).normal(0, 1, ring.shape) * noise]]


def sized(draw):
    return [[star(draw) * draw.choice([1e-12, 1e-6, 1e-3, 0.05, 0.1, 0.3, 4, 1e3, 1e5])]]


def straight(draw):
    """Squares and ells, turned a hair: edges that all but lie along rows."""
    wide, high = draw.choice([30, 100, 201.168, 402.336]), draw.choice([30, 100, 402.336])
    ring = [(0, 0), (wide, 0), (wide, high), (0, high)]
    if draw.random() < 0.5:
        cut_x, cut_y = wide * draw.uniform(0.2, 0.8), high * draw.uniform(0.2, 0.8)
        ring = [(0, 0), (wide, 0), (wide, cut_y), (cut_x, cut_y), (cut_x, high), (0, high)]
    turn = draw.choice([0, 1e-12, 1e-9, 1e-6, 1e-4, 0.006]) * math.pi / 180
    turned = [[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]]
    return [[np.array(ring) @ turned]]


def comb(draw):
    teeth, deep = draw.randint(2, 40), draw.uniform(1, 150)
    step = draw.choice([0.5, 4, 12.192, 20])
    ring = []
    for tooth in range(teeth):
        at = tooth * step
        ring += [(at, 0), (at, deep), (at + step / 2, deep), (at + step / 2, 0)]
    return [[np.array([*ring, (teeth * step, -100), (0, -100)])]]


def spiral(draw):
    turns = np.linspace(0, draw.randint(1, 4) * 2 * math.pi, draw.randint(20, 200))
    out = 20 + draw.uniform(5, 25) * turns
    inner = out + draw.uniform(2, 60)
    curve = np.column_stack([out * np.cos(turns), out * np.sin(turns)])
    back = np.column_stack([inner * np.cos(turns), inner * np.sin(turns)])[::-1]
    return [[np.concatenate([curve, back])]]


def few_corners(draw):
    count = draw.randint(0, 4)
    ring = np.array(
        [(draw.choice([0, 100, 100, 300]), draw.choice([0, 100])) for _ in range(count)]
    )
    return [[ring.reshape(-1, 2)]]


def ordinary(draw):
    return [[star(draw)]]


KINDS = (
    ordinary, spikes, bow_tie, holes, sliver, islands, many_corners, doubled, sized, straight, comb,
    spiral, few_corners,
)  # fmt: skip


def on_earth(draw, parts):
    """Bring parts to degrees, somewhere or nowhere on earth; give them and what was done."""
    longitude, latitude = draw.choice(
        [(-93.5, 42.0)] * 12 + [(180, 10), (-179.9995, -40), (0, 0), (20, 89.99), (0, -90), (7, 84)]
    )
    plane = Plane(float(longitude), float(latitude))
    done = draw.choice(
        ["nothing"] * 20 + ["axes", "nan", "inf", "meters", "huge", "text", "heights"]
    )
    found = []
    for rings in parts:
        made = []
        for ring in rings:
            closed = np.concatenate([ring, ring[:1]]) if draw.random() < 0.97 else ring
            lonlat = closed if done == "meters" else plane.to_lonlat(closed)
            points = [list(map(float, point)) for point in lonlat]
            if done == "axes":
                points = [point[::-1] for point in points]
            if done == "heights":
                points = [[*point, 300.0] for point in points]
            if points and done in {"nan", "inf", "huge", "text"}:
                bad = {"nan": math.nan, "inf": -math.inf, "huge": 1e300, "text": "7"}[done]
                points[draw.randrange(len(points))][draw.randrange(2)] = bad
            made.append(points)
        found.append(made)
    return found, done


HEADLANDS = (
    AROUND, AROUND.replace("around", "ends"), '[headland]\nwhere = "none"\n',
    AROUND.replace('crop = "corn"\n', ""),
)  # fmt: skip


@cache
def plan_of(system, headland):
    """Read a plan of a system, once."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plan.toml"
        path.write_text(
            f'title = "Test"\n[field]\nboundary = "field.geojson"\n{HEADLANDS[headland]}\n'
            f'[direction]\nheading = 0\nshortest = "30 ft"\n{SHED}{MORE}{SYSTEMS[system]}'
        )
        return read_plan(path)


def field_case(number):
    """Give a case's plan, its boundary as GeoJSON geometries, and what it is."""
    draw = random.Random(number)  # noqa: S311 - no secret
    kind = KINDS[draw.randrange(len(KINDS))]
    parts, done = on_earth(draw, kind(draw))
    geometry = (
        {"type": "Polygon", "coordinates": parts[0]}
        if len(parts) == 1
        else {"type": "MultiPolygon", "coordinates": parts}
    )
    if len(parts) > 1 and draw.random() < 0.4:
        geometries = [{"type": "Polygon", "coordinates": part} for part in parts]
    else:
        geometries = [geometry]
    heading = draw.choice([0.0, 90.0, 45.0, 179.9999, draw.uniform(0, 180), draw.uniform(0, 0.006)])
    if draw.random() < 0.002 and kind is not many_corners:
        heading = "best"
    plan = plan_of(draw.choice(sorted(SYSTEMS)), draw.randrange(len(HEADLANDS)))
    offset = draw.choice([None, "best", draw.uniform(0, 39)])
    direction = {"heading": heading, "offset_m": offset, "start": draw.choice(["left", "right"])}
    plan = plan.model_copy(update={"direction": plan.direction.model_copy(update=direction)})
    return plan, geometries, f"{kind.__name__}, {done}"


def lay_field(plan, geometries, *, driven=False, in_file=False, cured=False):
    """Lay a case, with its operations and what would do where asked; errors as `lay`."""
    if in_file:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "field.geojson"
            features = [{"type": "Feature", "properties": {}, "geometry": g} for g in geometries]
            path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
            shapes = read_shapes(path)
    else:
        features = [(f"feature {number}", one) for number, one in enumerate(geometries, start=1)]
        shapes = checked_shapes("field.geojson", features, "EPSG:4326")
    ground = locate(shapes)
    if driven:
        layout = flow.lay_on_ground(plan, ground)
        layout.accounts  # noqa: B018 - made when asked
        return layout
    priced, section = flow.settled(plan, ground)
    check_size(plan, [section], ground)
    with flow._cures(priced, ground) if cured else nullcontext():
        laid = flow._laid(priced, section, ground)
    layout = Layout(plan, ground, laid, season=None, figures=count_laid(laid, plan))
    check_closed(layout.areas_m2, ground.outline.area)
    return layout


def fault_of_layout(layout):
    """Say what of a layout is wrong: areas that miss, overlaps, ground out of the field."""
    outline, areas = layout.ground.outline, layout.areas_m2
    if not all(math.isfinite(one) and one >= 0 for one in areas.values()):
        return f"areas {areas}"
    if abs(sum(areas.values()) - outline.area) > 1e-9 * outline.area:
        return f"areas miss by {sum(areas.values()) - outline.area} m2 of {outline.area}"
    strips = [block.path.back(block.pieces.strips.polygon) for block in layout.laid.blocks]
    ground = np.concatenate([*strips, layout.laid.leftover, layout.laid.headland])
    near = 1e-5 + 1e-10 * outline.area
    one, other = shapely.STRtree(ground).query(ground, predicate="intersects")
    pairs = one < other
    shared = shapely.area(overlay.intersection(ground[one[pairs]], ground[other[pairs]]))
    if shared.max(initial=0.0) > near:
        return f"pieces overlap by {shared.max()} m2"
    out = shapely.area(overlay.difference(ground, outline))
    if out.max(initial=0.0) > near:  # of small faces the overlay itself is not held to points
        out = shapely.area(shapely.difference(ground, outline, grid_size=OVERLAY_M))
    if out.max(initial=0.0) > near:
        return f"a piece lies {out.max()} m2 out of the field"
    return ""


def fault_of_words(told):
    """Say what of a refusal's text is wrong."""
    lines = told.split("\n")
    if not told.strip() or len(lines) > MOST_LINES or max(map(len, lines)) > MOST_LINE:
        return f"{len(lines)} lines, the longest {max(map(len, lines))}: {told[:300]}"
    if NO_NUMBER.search(re.sub(r'"[^"]*"|[^ ]+, [^ ]+ is not a finite coordinate', "", told)):
        return f"words: {told[:500]}"
    return ""


def judged(lay):
    """Say what is wrong with a case, "" where nothing is, and how it ended."""
    begin = time.process_time()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", RuntimeWarning)
            layout = lay()
        fault, ended = fault_of_layout(layout) if layout is not None else "", "laid"
    except (AccountsError, PassError) as error:
        fault, ended = f"{type(error).__name__}: {error}", "fault"
    except StriplayError as error:
        fault, ended = fault_of_words(str(error)), type(error).__name__
    except Exception:  # noqa: BLE001 - what is looked for
        fault, ended = traceback.format_exc(), "fault"
    spent_s = time.process_time() - begin
    if spent_s > MOST_S:
        fault = fault or f"took {spent_s:.1f} s"
    return fault, ended


def judge_field(number):
    """Judge a boundary by its number; say also what it was and how it ended."""
    plan, geometries, told = field_case(number)
    which = {"driven": number % 100 == 0, "in_file": number % 20 == 0, "cured": number % 20 == 0}
    fault, ended = judged(lambda: lay_field(plan, geometries, **which))
    return fault, ended, told


# --- plans --------------------------------------------------------------------------------------

TEXTS = (
    "", " ", "x" * 5000, "0", "-1 ft", "1e999 ft", "nan ft", "30", "30 in", "1/0 in", "12 parsec",
    "\u0666\u0660 ft", "\u202e30 in", "\u00bd mile", "\U0001f33d", "\u0627\u0644\u0630\u0631",
    "a\\u0000b", "../../x", "/etc/passwd", "best", "corn", "Corn ", "fit", "-inf",
    "34000 seeds/acre", "0.0000001 mm", "99999999 mile", "2026-02-30", "soybean, corn",
)  # fmt: skip
NUMBERS = (
    "0", "-1", "1e308", "-1e308", "nan", "inf", "-inf", "1e-300", "9" * 40, "0x7fffffffffffffff",
    "3.5", "2", "2026-02-03", "true", "[]", "{}", "[[[]]]", "{a = {b = {c = 1}}}", "[1, 'a']",
    "12:00:00",
)  # fmt: skip
UNITS = ("in", "ft", "m", "cm", "mph", "seeds/acre", "lb/acre", "acre", "$/h", "%")
KEYS = ("x", "rows", "width", "spacing", "crop", "heading", "\u00e9")
LINE = re.compile(r"^(\s*[\w.\"-]+\s*=\s*)(.+)$")


@cache
def sample_texts():
    """Give every sample's plan, and plans of all systems."""
    found = [path.read_text() for path in sorted(SAMPLES.glob("*/plan.toml"))]
    found += [
        f'title = "T"\n[field]\nboundary = "field.geojson"\n{AROUND}[direction]\nheading = 12\n'
        f"{SHED}{MORE}{strips}"
        for strips in SYSTEMS.values()
    ]
    return [re.sub(r'boundary = ".*"', 'boundary = "field.geojson"', text) for text in found]


def plan_case(number):
    """Give a mutated plan's text."""
    draw = random.Random(number)  # noqa: S311 - no secret
    mild = number % 2 == 1  # as by a slip of the pen: most others are refused on reading
    lines = draw.choice(sample_texts()).split("\n")
    lines = ["heading = 12" if line.startswith('heading = "best"') else line for line in lines]
    lines = [line for line in lines if line.strip() and not line.startswith("#")]
    for _ in range(draw.choice([1, 1, 1, 2, 3, 8])):
        keyed = [index for index, line in enumerate(lines) if LINE.match(line)]
        if mild or draw.random() < 0.7:
            at = draw.choice(keyed)
            way = draw.choice([0, 1, 2, 2, 2] if mild else range(6))
            lines[at] = changed(draw, way, lines, at, keyed, mild=mild)
        else:
            moved(draw, lines)
    return "\n".join(lines)


def changed(draw, way, lines, at, keyed, *, mild):
    """Give a line with another value or key, "" where it is taken out."""
    key, value = LINE.match(lines[at]).groups()
    values = [LINE.match(lines[index])[2] for index in keyed]
    alike = [one for one in values if not mild or shape_of(one) == shape_of(value)]
    unit = re.sub(r"[a-z/]+\"$", f'{draw.choice(UNITS)}"', value)
    number = re.sub(r"\d+\.?\d*", lambda found: scaled(draw, found[0], mild=mild), value, count=1)
    other_key = re.sub(r"[\w-]+", draw.choice(KEYS), key, count=1)
    return (
        draw.choice(["# gone = 1", lines[at]]),
        key + draw.choice(alike),
        key + number,
        key + draw.choice([*NUMBERS, *(f'"{text}"' for text in TEXTS)]),
        key + unit,
        other_key + value,
    )[way]


def moved(draw, lines):
    """Take a line out, put it in again, change places with another, or put a letter in it."""
    one, other = draw.randrange(len(lines)), draw.randrange(len(lines))
    way = draw.randrange(4)
    if way == 0:
        lines[one] = "# gone = 1"
    elif way == 1:
        lines.insert(one, lines[other])
    elif way == 2:
        lines[one], lines[other] = lines[other], lines[one]
    else:
        where = draw.randrange(len(lines[one]) + 1)
        letter = chr(draw.choice([0, 34, 91, 0x202E, 0x1F33D, 92]))
        lines[one] = lines[one][:where] + letter + lines[one][where:]


def shape_of(value):
    """Give a value without its digits."""
    return re.sub(r"[\d.]+", "0", value)


def scaled(draw, number, *, mild):
    """Write a number times what makes it absurd, or hardly so."""
    absurd = [0, -1, 1e-9, 0.01, 1000, 1e9, 1e30]
    by = draw.choice([0.1, 0.25, 0.5, 0.9, 1.1, 2, 3, 10] * 2 + absurd if mild else absurd)
    found = float(number) * by
    return f"{round(found)}" if "." not in number and mild and found >= 1 else f"{found:.12g}"


BOUNDARIES = (
    shapely.box(-150, -120, 150, 120),
    shapely.Polygon([(0, 0), (300, 20), (260, 210), (90, 260), (-40, 120)]),
    shapely.box(-100, -100, 100, 100).difference(shapely.Point(10, 5).buffer(20, quad_segs=3)),
)


def judge_plan(number):
    """Judge a mutated plan by its number, likewise."""
    text = plan_case(number)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for source in SAMPLES.glob("*/*"):
            if source.suffix in {".csv", ".geojson"} and source.name != "field.geojson":
                (folder / source.name).write_bytes(source.read_bytes())
        lonlat = PLANE.geometries_to_lonlat(BOUNDARIES[number % len(BOUNDARIES)])
        (folder / "field.geojson").write_text(shapely.to_geojson(lonlat))
        (folder / "plan.toml").write_text(text, encoding="utf-8", newline="")

        def lay():
            plan = read_plan(folder / "plan.toml")
            if plan.direction.heading == "best" or plan.blocks == "suggest":
                return None
            layout = flow.lay(plan)
            if number % 20 == 0:
                layout.accounts  # noqa: B018 - made when asked
            return layout

        fault, ended = judged(lay)
    return fault, ended, "plan"


def run(what, first, count):
    """Judge many, tell how far it is at every thousandth, and give those at fault."""
    judge = {"fields": judge_field, "plans": judge_plan}[what]
    ended, slowest, faults = {}, (0.0, 0), []
    begin = time.process_time()
    for number in range(first, first + count):
        before = time.process_time()
        fault, how, told = judge(number)
        spent_s = time.process_time() - before
        slowest = max(slowest, (spent_s, number))
        if spent_s > SLOW_S:
            print(f"slow: {what} {number} ({told}), {how} in {spent_s:.1f} s", flush=True)
        ended[how] = ended.get(how, 0) + 1
        if fault:
            faults.append(number)
            print(f"FAULT {what} {number} ({told}): {fault}", flush=True)
        if (number + 1 - first) % 1000 == 0 or number + 1 == first + count:
            memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(
                f"{what} up to {number}: {ended}, {time.process_time() - begin:.0f} s, slowest "
                f"{slowest[0]:.1f} s ({slowest[1]}), {memory_mb:.0f} MB",
                flush=True,
            )
    if memory_mb > MOST_MB:
        faults.append(f"{memory_mb:.0f} MB")
    return faults


if __name__ == "__main__":
    run(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
