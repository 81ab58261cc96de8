"""Read the table of published yields of rows at edges that comes with striplay."""

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import cast

from striplay.economics.edges import Response, Runs, Side


@cache
def published_edges() -> tuple[Response, ...]:
    """Read what studies say of rows at edges, line by line."""
    text = files("striplay.economics").joinpath("edges.csv").read_text(encoding="utf-8")
    return tuple(_response(row) for row in csv.DictReader(text.splitlines()))


def _response(row: Mapping[str, str]) -> Response:
    gain = _number(row["gain"])
    low, high = (gain if row[end] == "" else float(row[end]) for end in ("low", "high"))
    assert low is not None and high is not None  # noqa: PT018, S101 - a fault of our own table
    return Response(
        study=row["study"],
        crop=row["crop"],
        beside=row["beside"],
        side=cast("Side", row["side"]),
        rows_run=cast("Runs", row["rows_run"]),
        row=int(row["row"]) if row["row"] else None,
        low=low,
        gain=gain,
        high=high,
        strip_rows=int(row["strip_rows"]) if row["strip_rows"] else None,
        strip_m=_number(row["strip_m"]),
        place=row["place"],
        years=row["years"],
        source=row["source"],
        note=row["note"],
    )


def _number(text: str) -> float | None:
    return float(text) if text else None
