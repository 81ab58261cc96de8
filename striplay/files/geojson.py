"""Read GeoJSON as the text it is: nothing it names is followed."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from striplay.files.regular import check_text

Found = tuple[Mapping[str, Any], Mapping[str, Any] | None]
"""A feature's values by column, and its geometry, None where it has none."""

WGS84 = "EPSG:4326"
GEOMETRIES = (
    "Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon",
    "GeometryCollection",
)  # fmt: skip


def read_geojson(path: Path) -> tuple[str | None, list[Found]]:
    """Read the features of a GeoJSON file.

    Returns:
        The coordinate reference system the file names, as files did before RFC 7946: None where it
        names none (WGS 84 then, by RFC 7946), "" where it says there is none; and the features.

    Raises:
        ValueError: it is no GeoJSON; the message says why.
    """
    text = path.read_bytes()
    check_text(text)
    try:
        content = json.loads(text.decode("utf-8-sig"))
    except RecursionError as error:
        raise ValueError("can't be read: it is nested too deeply") from error
    except ValueError as error:
        line = f" from line {error.lineno} on" if isinstance(error, json.JSONDecodeError) else ""
        raise ValueError(f"can't be read: it is no GeoJSON{line}") from error
    kind = content.get("type") if isinstance(content, dict) else None
    if kind == "FeatureCollection":
        listed = content.get("features")
        if not isinstance(listed, list):
            raise ValueError("can't be read: its features are no list")
        features = [_feature(each, number) for number, each in enumerate(listed, start=1)]
    elif kind == "Feature":
        features = [_feature(content, 1)]
    elif kind in GEOMETRIES:
        features = [({}, content)]
    else:
        raise ValueError(NO_GEOJSON)
    return _crs(content), features


NO_GEOJSON = "can't be read: it is no GeoJSON, such as a FeatureCollection"


def _feature(content: Any, number: int) -> Found:  # noqa: ANN401 - JSON
    if not isinstance(content, dict) or content.get("type") != "Feature":
        raise ValueError(f"feature {number} is no GeoJSON feature")
    values, geometry = content.get("properties"), content.get("geometry")
    if geometry is not None and (
        not isinstance(geometry, dict) or geometry.get("type") not in GEOMETRIES
    ):
        raise ValueError(f"feature {number} has no geometry of GeoJSON")
    known = values if isinstance(values, dict) else {}
    return ({"fid": content["id"], **known} if "id" in content else known), geometry


def _crs(content: Mapping[str, Any]) -> str | None:
    """Give the coordinate reference system a file names; a link to one is not followed."""
    if "crs" not in content:
        return None
    stated = content["crs"]
    if stated is None:
        return ""
    inside = stated.get("properties") if isinstance(stated, dict) else None
    if isinstance(inside, dict) and isinstance(stated, dict):
        if stated.get("type") == "name" and isinstance(inside.get("name"), str):
            return str(inside["name"])
        if stated.get("type") == "EPSG" and isinstance(inside.get("code"), int):
            return f"EPSG:{inside['code']}"
    raise ValueError(
        "its crs is no name, and links are not followed; write it as a name, such as "
        '"urn:ogc:def:crs:EPSG::26915"'
    )
