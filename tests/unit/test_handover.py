"""What the output folder holds: open formats, true figures, the same bytes every time."""

import csv
import errno
import json
import os
import re
import time
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import shapely
from fields import lay_on, square, write_plan_for
from geojson_validator import validate_structure
from pyogrio.errors import DataSourceError
from pyproj import Geod

import striplay
from striplay.files.layers import to_lonlat
from striplay.files.plan import check_spares, read_plan
from striplay.files.write_geopackage import write_geopackage

FILES = {
    "strips.geojson", "rows.geojson", "headland.geojson", "passes.geojson", "layout.gpkg",
    "accounts.json", "strips.csv", "strip_crops.csv", "operations.csv", "passes.csv", "field.html",
    ".striplay-layout",
}  # fmt: skip


@pytest.fixture(scope="module")
def handed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("field")
    layout = lay_on(folder, square(), direction="heading = 30")
    striplay.save(layout, folder / "out", map_book=False)
    return layout, folder / "out"


def test_files(handed):
    assert {p.name for p in handed[1].iterdir()} == FILES


def test_what_a_plan_is_made_of_is_not_replaced(handed, tmp_path):
    """A boundary, or the plan itself, may have the name of a file that lay writes."""
    out = tmp_path / "out"
    layout, _ = handed
    striplay.save(layout, out, map_book=False)
    path = write_plan_for(tmp_path, square())
    text = path.read_text().replace('"field.geojson"', '"out/headland.geojson"')
    path.write_text(text)
    inside = out / "accounts.json"
    for named, told in (
        (path, 'field.boundary, "out/headland.geojson"'), (inside, 'the plan, "accounts.json"'),
    ):  # fmt: skip
        inside.write_text(text)
        with pytest.raises(striplay.errors.OutputError) as refusal:
            striplay.save(replace(layout, plan=read_plan(named)), out, map_book=False)
        assert str(refusal.value) == (
            f"{out}: {told}, lies in it and would be lost; move it elsewhere, or give a new "
            "folder's name with -o"
        )
        assert inside.read_text() == text
    check_spares(layout.plan, out)
    check_spares(read_plan(path), tmp_path / "new")


@pytest.mark.parametrize("name", ["strips", "rows", "headland", "passes"])
def test_geojson_is_rfc_7946(handed, name):
    data = json.loads((handed[1] / f"{name}.geojson").read_text())
    assert validate_structure(data) == {}
    assert "crs" not in data
    assert set(data) == {"type", "features"}
    numbers = re.findall(r"-?\d+\.(\d+)", json.dumps([f["geometry"] for f in data["features"]]))
    assert max(len(decimals) for decimals in numbers) <= 7
    for feature in data["features"]:
        if feature["geometry"]["type"] == "Polygon":
            exterior, *holes = feature["geometry"]["coordinates"]
            assert exterior[0] == exterior[-1]
            assert signed(exterior) > 0
            assert all(signed(hole) < 0 for hole in holes)


def signed(ring):
    return sum((x1 - x0) * (y1 + y0) for (x1, y1), (x0, y0) in pairwise(ring))


def test_geodesic_area_of_geojson_strips(handed):
    # pyproj's Geod measures on the ellipsoid, with nothing of the local plane
    layout, folder = handed
    read = gpd.read_file(folder / "strips.geojson")
    area = sum(abs(Geod(ellps="WGS84").geometry_area_perimeter(g)[0]) for g in read.geometry)
    assert area == pytest.approx(layout.land_accounts["areas_m2"]["strips"], rel=2e-5)


def test_geopackage_layers_read_the_same(handed):
    layout, folder = handed
    path = folder / "layout.gpkg"
    names = [name for name, _ in pyogrio.list_layers(path)]
    assert names[:6] == ["field", "headland", "strips", "rows", "passes", "leftover"]
    strips = gpd.read_file(path, layer="strips")
    assert list(strips["crop"]) == list(layout.strips["crop"])
    assert strips["area_m2"].to_numpy() == pytest.approx(
        layout.strips["area_m2"].to_numpy(), abs=1e-6
    )
    there = layout.ground.plane.geometries_to_lonlat(layout.strips.geometry.to_numpy())
    assert all(a.equals(b) for a, b in zip(strips.geometry, there, strict=True))


def test_accounts_file_is_the_accounts(handed):
    layout, folder = handed
    assert json.loads((folder / "accounts.json").read_text()) == layout.accounts


def test_strip_csv_has_a_row_a_strip(handed):
    layout, folder = handed
    with (folder / "strips.csv").open() as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == layout.strips["strip"].nunique()
    assert sum(float(row["area_m2"]) for row in rows) == pytest.approx(
        layout.land_accounts["areas_m2"]["strips"], rel=1e-9
    )
    planted = sum(int(row["plant_passes"]) for row in rows)
    passes = layout.passes
    assert planted == ((passes["operation"] == "plant") & (passes["place"] == "strips")).sum()


def test_same_plan_same_bytes(handed, tmp_path):
    layout, folder = handed
    time.sleep(1.1)
    striplay.save(layout, tmp_path / "again", map_book=True)
    first = (tmp_path / "again" / "mapbook.pdf").read_bytes()
    assert {p.name for p in (tmp_path / "again").iterdir()} == {*FILES, "mapbook.pdf"}
    striplay.save(layout, tmp_path / "again", map_book=True)
    assert (tmp_path / "again" / "mapbook.pdf").read_bytes() == first
    for name in FILES - {".striplay-layout"}:
        assert (tmp_path / "again" / name).read_bytes() == (folder / name).read_bytes()


def test_a_geopackage_does_not_wait_for_the_disk_and_the_caller_keeps_its_options(
    handed, tmp_path, monkeypatch
):
    layout, folder = handed
    write, seen = pyogrio.write_dataframe, []

    def watched(*arguments, **options):
        seen.append(pyogrio.get_gdal_config_option("OGR_SQLITE_SYNCHRONOUS"))
        write(*arguments, **options)

    monkeypatch.setattr(pyogrio, "write_dataframe", watched)
    pyogrio.set_gdal_config_options({"OGR_SQLITE_SYNCHRONOUS": "NORMAL"})
    try:
        tables = {"strips": to_lonlat(layout.strips, layout.ground.plane)}
        write_geopackage(tables, tmp_path / "layout.gpkg")
        after = pyogrio.get_gdal_config_option("OGR_SQLITE_SYNCHRONOUS")
    finally:
        pyogrio.set_gdal_config_options({"OGR_SQLITE_SYNCHRONOUS": None})
    assert seen == [False]  # as pyogrio reads "OFF"
    assert after == "NORMAL"
    read = gpd.read_file(tmp_path / "layout.gpkg", layer="strips")
    assert len(read) == len(gpd.read_file(folder / "layout.gpkg", layer="strips"))


@pytest.mark.parametrize(
    ("by", "told"),
    [
        ("GDAL", "the disk is full, or refuses layout.gpkg"),
        ("the system", "No space left on device"),
    ],
)
def test_a_full_disk_leaves_the_old_folder(handed, tmp_path, monkeypatch, by, told):
    """What GDAL says of a full disk was seen by hand: writing into 6 to 900 KiB of memory."""
    layout, folder = handed
    striplay.save(layout, tmp_path / "out", map_book=False)
    write, write_bytes = pyogrio.write_dataframe, Path.write_bytes

    def full(table, path, **how):
        if how["driver"] == "GPKG":
            write_bytes(path, b"half")
            raise DataSourceError("Failed to commit transaction")
        write(table, path, **how)

    def no_room(path, data):
        if path.name == "rows.geojson":
            write_bytes(path, b"half")
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        write_bytes(path, data)

    if by == "GDAL":
        monkeypatch.setattr(pyogrio, "write_dataframe", full)
    else:
        monkeypatch.setattr(Path, "write_bytes", no_room)
    with pytest.raises(striplay.errors.WriteError) as refusal:
        striplay.save(layout, tmp_path / "out", map_book=False)
    monkeypatch.undo()
    assert str(refusal.value) == f"{tmp_path / 'out'}: can't be written: {told}"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    for written in FILES - {".striplay-layout"}:
        assert (tmp_path / "out" / written).read_bytes() == (folder / written).read_bytes()


def test_a_field_across_the_180th_meridian_is_written_whole_and_valid(tmp_path):
    halves = [
        shapely.box(179.996, 52.0, 180.0, 52.003),
        shapely.box(-180.0, 52.0, -179.995, 52.003),
    ]
    features = [
        {"type": "Feature", "properties": {}, "geometry": json.loads(shapely.to_geojson(half))}
        for half in halves
    ]
    path = write_plan_for(tmp_path, square(), direction="heading = 70")
    field = {"type": "FeatureCollection", "features": features}
    (tmp_path / "field.geojson").write_text(json.dumps(field))
    layout = striplay.lay(striplay.read_plan(path))
    striplay.save(layout, tmp_path / "out", map_book=False)
    for name in ("strips", "rows", "headland", "passes"):
        cut = gpd.read_file(tmp_path / "out" / f"{name}.geojson")
        whole = gpd.read_file(tmp_path / "out" / "layout.gpkg", layer=name)
        parts = cut.geometry.explode()
        assert cut.geometry.is_valid.all()
        assert whole.geometry.is_valid.all()
        assert not parts.is_empty.any()
        # RFC 7946, section 3.1.9: no part crosses the meridian
        assert (parts.bounds.maxx - parts.bounds.minx).max() < 0.01
        assert parts.total_bounds[0] == pytest.approx(-180, abs=1e-6)
        assert parts.total_bounds[2] == pytest.approx(180, abs=1e-6)
        # the GeoPackage's longitudes run on
        assert whole.total_bounds[2] - whole.total_bounds[0] < 0.01
        if name in {"rows", "passes"}:
            assert shapely.length(cut.geometry).sum() == pytest.approx(
                shapely.length(whole.geometry).sum(), rel=1e-4
            )
            first = shapely.get_point(parts.groupby(level=0).first().to_numpy(), 0)
            begin = shapely.get_point(whole.geometry.to_numpy(), 0)
            turned = (shapely.get_x(first) - shapely.get_x(begin)) / 360
            assert np.allclose(turned, np.round(turned), atol=1e-6)
            assert np.allclose(shapely.get_y(first), shapely.get_y(begin), atol=1e-6)
        else:
            assert shapely.area(cut.geometry).sum() == pytest.approx(
                shapely.area(whole.geometry).sum(), rel=1e-4
            )
