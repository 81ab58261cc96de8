"""Make the sample fields again: invented farms, invented boundaries, five formats.

Run it from a checkout with striplay installed: `python sample_fields/make.py`.
"""

import csv
import json
import zipfile
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import fiona
import numpy as np
import pyproj
import shapely

from striplay import lay, read_plan
from striplay.ground import Plane
from striplay.units import ACRE_M2

HERE = Path(__file__).resolve().parent
FOOT_M = 0.3048
SEED = 20260401
ZIP_TIME = (2026, 4, 1, 0, 0, 0)


def collection(polygons: list[shapely.Polygon], name: str = "", **extra: object) -> str:
    """Write polygons, called by a name where there is one, as a GeoJSON feature collection."""
    named = {"name": name} if name else {}
    features = [
        {
            "type": "Feature",
            "properties": {"id": number, **named},
            "geometry": json.loads(shapely.to_geojson(polygon)),
        }
        for number, polygon in enumerate(shapely.orient_polygons(polygons), start=1)
    ]
    return json.dumps({"type": "FeatureCollection", **extra, "features": features}, indent=1) + "\n"


def in_degrees(polygon: shapely.Polygon, plane: Plane) -> shapely.Polygon:
    """Bring a polygon to longitude and latitude with 8 decimals, about a millimeter."""
    lonlat = plane.geometries_to_lonlat(polygon)
    return shapely.transform(lonlat, lambda points: np.round(points, 8))


def write_with_fiona(path: Path, driver: str, polygon: shapely.Polygon) -> None:
    """Write one polygon in longitude and latitude with fiona."""
    schema = {"geometry": "Polygon", "properties": {"id": "int"}}
    with fiona.open(path, "w", driver=driver, crs="EPSG:4326", schema=schema) as sink:
        geometry = json.loads(shapely.to_geojson(polygon))
        sink.write({"geometry": geometry, "properties": {"id": 1}})


def quarter_section() -> None:
    """A plain quarter section, half a mile square, its farmyard corner cut out."""
    side_m = 2640 * FOOT_M
    whole = shapely.box(-side_m / 2, -side_m / 2, side_m / 2, side_m / 2)
    yard = shapely.box(
        side_m / 2 - 420 * FOOT_M, -side_m / 2, side_m / 2, 300 * FOOT_M - side_m / 2
    )
    field = in_degrees(whole.difference(yard), Plane(-93.412, 42.036))
    (HERE / "quarter_section" / "field.geojson").write_text(collection([field]))


def pond_ell() -> None:
    """An L of two legs with a pond in the wider one."""
    ell = shapely.Polygon([(0, 0), (760, 0), (760, 330), (390, 330), (390, 700), (0, 700)])
    angles = np.linspace(0, 2 * np.pi, 37)[:-1]
    radii = 38 + 9 * np.sin(2 * angles) + 4 * np.cos(3 * angles)
    pond = shapely.Polygon(
        np.column_stack([185 + radii * np.cos(angles) * 1.4, 190 + radii * np.sin(angles)])
    )
    ell = shapely.affinity.rotate(ell.difference(pond), 7, origin=(380, 350))
    field = in_degrees(shapely.affinity.translate(ell, -380, -350), Plane(-88.731, 40.514))
    path = HERE / "pond_ell" / "field.gpkg"
    path.unlink(missing_ok=True)
    with fiona.Env(OGR_CURRENT_DATE="2026-04-01T00:00:00.000Z"):
        write_with_fiona(path, "GPKG", field)


def creek_side() -> None:
    """A field along a creek, its edge ragged, with a grassed waterway across it."""
    random = np.random.default_rng(SEED)
    along = np.linspace(0, 900, 620)
    wander = 34 * np.sin(along / 95) + 15 * np.sin(along / 31 + 1) + random.normal(0, 0.7, 620)
    creek = np.column_stack([along, wander])
    field = shapely.Polygon([*creek, (900, 560), (0, 610)])
    middle = shapely.LineString([(330, 640), (372, 450), (455, 300), (470, 120), (520, -90)])
    plane = Plane(-91.876, 43.207)

    def place(shape: shapely.Polygon) -> shapely.Polygon:
        turned = shapely.affinity.rotate(shape, -18, origin=(450, 300))
        return in_degrees(shapely.affinity.translate(turned, -450, -300), plane)

    folder = HERE / "creek_side"
    (folder / "waterway.geojson").write_text(
        collection([place(middle.buffer(6, quad_segs=3))], "waterway")
    )
    with TemporaryDirectory() as made:
        write_with_fiona(Path(made) / "field.shp", "ESRI Shapefile", place(field))
        with zipfile.ZipFile(folder / "field.zip", "w", zipfile.ZIP_DEFLATED) as archive:
            for part in sorted(Path(made).iterdir()):
                data = bytearray(part.read_bytes())
                if part.suffix == ".dbf":
                    data[1:4] = bytes([126, 4, 1])  # the date dBASE stamps: 2026-04-01
                archive.writestr(zipfile.ZipInfo(part.name, ZIP_TIME), bytes(data))


def pivot_circle() -> None:
    """A center-pivot circle with the road that leads to its corner cut off."""
    circle = shapely.Point(0, 0).buffer(1300 * FOOT_M, quad_segs=45)
    road = shapely.LineString([(20, -20), (420, -420)]).buffer(4.5, cap_style="flat")
    pad = shapely.Point(0, 0).buffer(12, quad_segs=6)
    field = in_degrees(circle.difference(shapely.union_all([road, pad])), Plane(-98.642, 40.871))
    rings = [field.exterior, *field.interiors]
    texts = [" ".join(f"{x},{y}" for x, y in ring.coords) for ring in rings]
    ring = "<LinearRing><coordinates>{}</coordinates></LinearRing>"
    outer = f"<outerBoundaryIs>{ring.format(texts[0])}</outerBoundaryIs>"
    inner = "".join(f"<innerBoundaryIs>{ring.format(text)}</innerBoundaryIs>" for text in texts[1:])
    (HERE / "pivot_circle" / "field.kml").write_text(
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document><name>field</name>\n'
        f"<Placemark><name>Pivot</name><Polygon>{outer}{inner}</Polygon></Placemark>\n"
        "</Document></kml>\n"
    )


def two_parts() -> None:
    """A field in two parts either side of a lane, in a grid zone, as GeoJSON before RFC 7946."""
    west = shapely.Polygon([(0, 0), (310, 25), (296, 402), (-22, 380)])
    east = shapely.Polygon([(322, 26), (640, 52), (655, 300), (480, 415), (308, 403)])
    to_zone = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:25832", always_xy=True)
    east_m, north_m = to_zone.transform(10.231, 52.087)

    def place(part: shapely.Polygon) -> shapely.Polygon:
        moved = shapely.affinity.translate(part, east_m - 310, north_m - 200)
        return shapely.transform(moved, lambda points: np.round(points, 3))

    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::25832"}}
    text = collection([place(west), place(east)], crs=crs)
    (HERE / "two_parts" / "field.geojson").write_text(text)


SEASON = HERE / "seasons" / "alder_bend"


def season_field() -> None:
    """A field of a trial, its northeast corner cut off by a creek."""
    wide_m, long_m = 925 * FOOT_M, 1100 * FOOT_M
    whole = shapely.Polygon(
        [(0, 0), (wide_m, 0), (wide_m, 0.85 * long_m), (0.9 * wide_m, long_m), (0, long_m)]
    )
    placed = shapely.affinity.translate(whole, -wide_m / 2, -long_m / 2)
    field = in_degrees(placed, Plane(-93.401, 42.0362))
    (SEASON / "field.geojson").write_text(collection([field], "Alder Bend, creek twenty"))


def season_records() -> None:
    """Write a season of invented records for the field of a trial: planted, counted, seen, weighed.

    Corn yields more in strips and soybean less, as rows at edges do; ground and chance add to it.
    """
    layout = lay(read_plan(SEASON / "plan.toml"))
    strips = layout.strips[layout.strips["piece"] == 1]
    random = np.random.default_rng(SEED + 1)
    better = random.normal(0.0, 0.02, 9)  # ground of a replicate
    lines: list[dict[str, object]] = []

    def line(kind: str, day: str, **said: object) -> None:
        lines.append({"kind": kind, "date": day, "operator": "R. Alder (invented)", **said})

    for number in (1, 2):
        line("done", PLANTED["soybean"], operation="plant soybean", strip="headland", lot="S7",
             remark=f"round {number}")  # fmt: skip
    places = ("strip", "crop", "area_m2", "replicate", "treatment")
    each = list(zip(*(strips[name].tolist() for name in places), strict=True))
    for strip, crop, area_m2, replicate, treatment in each:
        line("done", PLANTED[crop], operation=f"plant {crop}", strip=strip,
             lot={"corn": "C41", "soybean": "S7"}[crop])  # fmt: skip
        line("stand", COUNTED[crop], strip=strip, stand_count=random.binomial(*STOOD[crop]))
        gain = GAINS[crop] if treatment == "strips" else 1.0
        level = gain * (1.0 + better[replicate]) * random.normal(1.0, 0.025)
        grain = ALONE_LB[crop] * level * area_m2 / ACRE_M2
        if strip == HAILED:
            grain *= 0.9
        line("yield", WEIGHED[crop], strip=strip, grain=f"{grain:.0f} lb",
             moisture=f"{random.normal(WET[crop], 0.4):.1f} %")  # fmt: skip
    inside = [one for one in each if one[1] == "corn" and one[4] == "strips"]
    for strip, *_ in inside[1::2]:
        for row in (1, 2, 4, 5, 8):
            weight = 10.4 * EDGES.get(row, 1.0) * random.normal(1.0, 0.03)
            line("yield", "2026-10-12", strip=strip, row=row, length="17.4 ft",
                 grain=f"{weight:.2f} lb", moisture="19.0 %")  # fmt: skip
    line("done", "2026-05-26", operation="spray corn + soybean", start="8:10", stop="10:40",
         lot="H3", remark="wind 5 mph from the south (invented)")  # fmt: skip
    for crop, name in (("soybean", "harvest soybean"), ("corn", "harvest corn")):
        line("done", WEIGHED[crop], operation=name)
    hit = strips[strips["strip"] == HAILED]
    ((x, y),) = layout.ground.plane.geometries_to_lonlat(hit.centroid.to_numpy())[0].coords
    line("event", "2026-07-18", what="hail, leaves torn", strip=HAILED,
         longitude=f"{x:.6f}", latitude=f"{y:.6f}")  # fmt: skip
    line("event", "2026-09-02", what="deer along the creek", strip=int(strips["strip"].max()))
    line("remark", "2026-06-20", remark="dry since the end of May")
    columns = list(dict.fromkeys(name for one in lines for name in one))
    with (SEASON / "records.csv").open("w", encoding="utf-8", newline="") as file:
        sink = csv.DictWriter(file, columns, lineterminator="\n")
        sink.writeheader()
        sink.writerows(sorted(lines, key=lambda one: str(one["date"])))


HAILED = 9
PLANTED = {"corn": "2026-05-04", "soybean": "2026-05-13"}
COUNTED = {"corn": "2026-05-29", "soybean": "2026-06-09"}
WEIGHED = {"corn": "2026-10-16", "soybean": "2026-09-29"}
STOOD = {"corn": (34, 0.9), "soybean": (140, 0.82)}
ALONE_LB = {"corn": 182 * 56 / 0.96, "soybean": 53 * 60}
WET = {"corn": 18.5, "soybean": 12.6}
EDGES = {1: 1.17, 8: 1.14, 2: 1.03}
GAINS = {"corn": 1.05, "soybean": 0.96}
"""The invented season: days, plants that stand of those sown, pounds to the acre as weighed, and
what rows at edges and strips make of it."""


def weather() -> None:
    """Write a season of invented weather for the field with a pond."""
    random = np.random.default_rng(SEED)
    days = [date(2026, 4, 1) + timedelta(days=number) for number in range(214)]
    year = np.array([(day - date(2026, 1, 1)).days for day in days])
    mean_f = 52 + 24 * np.sin(2 * np.pi * (year - 105) / 365) + random.normal(0, 4.5, len(days))
    half_f = random.uniform(8, 13, len(days))
    lines = ["day,least,greatest"]
    lines += [
        f"{day.isoformat()},{mean - half:.0f},{mean + half:.0f}"
        for day, mean, half in zip(days, mean_f, half_f, strict=True)
    ]
    (HERE / "pond_ell" / "weather.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    weather()
    season_field()
    season_records()
    for make in (quarter_section, pond_ell, creek_side, pivot_circle, two_parts):
        (HERE / make.__name__).mkdir(exist_ok=True)
        make()
