"""Any name that a plan may hold comes back whole from every kind of file."""

import csv
import io
import json
import tempfile
import zipfile
from dataclasses import replace
from pathlib import Path

import fastkml
import geopandas as gpd
import pyogrio
import pytest
import shapefile
from fields import lay_on, square
from hypothesis import given, settings
from hypothesis import strategies as st

from striplay.files.write_csv import FORMULA
from striplay.files.write_shapefile import cut
from striplay.files.writers import WRITERS
from striplay.handover import content_of
from striplay.plain import unseen_in

ODD = ["=1+1", "-2", "+3", "@a", '"', "'", "<b>&amp;</b>", "]]>", "a;=b", "a,b", "\\", "{{7*7}}"]
NAMES = st.one_of(
    st.sampled_from(ODD),
    st.text(st.characters(exclude_categories=["Cs", "Cc", "Cn", "Co", "Cf"]), min_size=1,
            max_size=90),
).filter(lambda name: name.strip() and unseen_in(name) is None)  # fmt: skip


@pytest.fixture(scope="module")
def content(tmp_path_factory):
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n'
    return content_of(lay_on(tmp_path_factory.mktemp("small"), square(400), strips=strips))


@settings(max_examples=12, deadline=None)
@given(name=NAMES)
def test_a_name_comes_back_whole_from_every_kind_of_file(content, name):
    layers = {one: table.assign(crop=name) if "crop" in table else table
              for one, table in content.layers.items()}  # fmt: skip
    named = replace(
        content,
        layers=layers, ways=layers["passes"],
        lists={one: table.assign(crop=name) for one, table in content.lists.items()},
        looks={name: next(iter(content.looks.values()))},
        plan=content.plan.model_copy(update={"title": name}),
        accounts=content.accounts | {"crops": {name: content.accounts["crops"]["corn"]}},
    )  # fmt: skip
    files = {}
    for writer in WRITERS.values():
        if writer.encode:
            files |= writer.encode(named)
    with tempfile.TemporaryDirectory() as folder:
        for file in ("layout.gpkg", "strips.geojson"):
            path = Path(folder) / file
            path.write_bytes(files[file])
            read = pyogrio.read_dataframe(path, layer="strips")
            assert set(read["crop"]) == {name}
            path.unlink()
    assert set(gpd.read_parquet(io.BytesIO(files["strips.parquet"]))["crop"]) == {name}
    assert list(json.loads(files["accounts.json"])["crops"]) == [name]
    with zipfile.ZipFile(io.BytesIO(files["layout_shp.zip"])) as packed:
        table = io.BytesIO(packed.read("strips.dbf"))
    with shapefile.Reader(dbf=table, encoding="utf-8") as reader:
        assert {record["crop"] for record in reader.records()} == {cut(name).rstrip()}
    (document,) = fastkml.KML.from_string(files["layout.kml"]).features
    strips = next(one for one in document.features if one.name == "strips")
    for one in strips.features:
        values = {data.name: data.value for data in one.extended_data.elements[0].data}
        assert values["crop"] == name
    rows = list(csv.DictReader(io.StringIO(files["strips.csv"].decode(), newline="")))
    assert {row["crop"] for row in rows} == {FORMULA.sub("'", name)}
