"""Hold all that writers of files read of a layout, so that no writer works anything out again."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from striplay.ground import Ground
from striplay.laid import Laid
from striplay.operations.judged import Operations
from striplay.plan.models import Plan
from striplay.worksheet import Worksheet

if TYPE_CHECKING:
    from geopandas import GeoDataFrame
    from pandas import DataFrame


@dataclass(frozen=True, slots=True)
class CropLook:
    """How a crop or mixture is shown wherever it is drawn.

    Attributes:
        color: of its fill, as #rrggbb.
        hatch: the lines over the fill, in a word or two; empty for none.
        line: their color, as #rrggbb.
        letter: what stands for it where there is no color.
    """

    color: str
    hatch: str
    line: str
    letter: str


@dataclass(frozen=True)
class Content:
    """A layout as it is handed over.

    Attributes:
        plan: what was asked: title, units, farm, machines, crops.
        mark: eight letters that tell this version of plan and boundary from others.
        ground: the field on its local plane: outline, obstacles, and `plane` to degrees and back.
        laid: strips and rows on that plane, block by block.
        operations: the season's operations, each with its passes in the order driven.
        worksheets: each operation as its operator is told of it, in the order done.
        layers: tables with shapes by the names of `columns.LAYERS`, in longitude and latitude
            (WGS 84), numbers rounded. Longitudes of a field across the 180th meridian run on.
        ways: the layer `passes`, with the ways between passes too where they were asked for.
        lists: tables without shapes, by the names of their CSV files.
        accounts: what accounts.json holds.
        looks: how each crop and mixture is shown, in the order of the set.
        printed: date on what is read or printed; none where no date is stated.
    """

    plan: Plan
    mark: str
    ground: Ground = field(repr=False)
    laid: Laid = field(repr=False)
    operations: Operations = field(repr=False)
    worksheets: tuple[Worksheet, ...] = field(repr=False)
    layers: Mapping[str, "GeoDataFrame"] = field(repr=False)
    ways: "GeoDataFrame" = field(repr=False)
    lists: Mapping[str, "DataFrame"] = field(repr=False)
    accounts: Mapping[str, Any] = field(repr=False)
    looks: Mapping[str, CropLook]
    printed: date | None = None
