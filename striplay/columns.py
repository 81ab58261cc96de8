"""Describe every column of every table once: its unit, what it means, and where it stands.

Tables and files order their columns as they stand here, and docs/tables_reference.md is made from
this. To add a column, describe it here and give its values where its table is made.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Type = Literal["whole number", "number", "text", "yes or no"]

STRIP_CSV, SOWN_CSV, JOBS_CSV = "strips.csv", "strip_crops.csv", "operations.csv"
PASSES_CSV = "passes.csv"
LOOKS, VERSION = "looks", "version"
TABLES = {
    "field": "One polygon a part of the field, holes filled.",
    "headland": "One polygon a part of the headland.",
    "strips": "One polygon a piece of a strip.",
    "rows": "One line a planted piece of a row, along the heading.",
    "passes": "One line a stretch of a machine pass, drawn as driven, in the order driven.",
    "leftover": "One polygon a part of the land that no strip covers.",
    STRIP_CSV: "One line a strip, its pieces added up.",
    SOWN_CSV: "One line a strip and crop sown in it, own or between its rows.",
    JOBS_CSV: "One line an operation of the season, in the order done.",
    PASSES_CSV: "The layer `passes` without its shapes.",
    LOOKS: "How sheets draw each crop or mixture; a table of layout.gpkg without shapes.",
    VERSION: "Which plan this is, in one line; a table of layout.gpkg without shapes.",
}
"""Every table and what a line of it is; those with an ending are files."""

Shape = Literal["Polygon", "LineString"]
LAYERS: dict[str, Shape] = {
    "field": "Polygon",
    "headland": "Polygon",
    "strips": "Polygon",
    "rows": "LineString",
    "passes": "LineString",
    "leftover": "Polygon",
}
"""The layers and what their shapes are; cut shapes are several of the kind in one."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of one table or several.

    Attributes:
        name: its name; the unit is its ending.
        type: what its values are.
        tables: the tables it stands in.
        meaning: what its values tell, in a sentence.
        empty: when a value is empty; never, where left out.
        only: when the column is there at all; always, where left out.
    """

    name: str
    type: Type
    tables: tuple[str, ...]
    meaning: str
    empty: str = ""
    only: str = ""


STRIP_TABLES = ("strips", STRIP_CSV)
PASS_TABLES = ("passes", PASSES_CSV)
NO_OPENERS = "where its drill's openers are not given"
NO_RATE = "where no rate is stated, or one by weight without seed_size"
NO_WEIGHT = "where no rate is stated, or one by number without seed_size"
ON_HEADLAND = "on the headland"

COLUMNS: tuple[Column, ...] = (
    Column("name", "text", (JOBS_CSV,), "What sheets call the operation."),
    Column("operation", "text", (*PASS_TABLES, JOBS_CSV),
           "What is done: plant, spray, spread, cultivate, harvest, mow or till."),
    Column("job", "text", PASS_TABLES, "Name of the operation, as in operations.csv."),
    Column("machine", "text", (*PASS_TABLES, JOBS_CSV), "The machine's name in the plan."),
    Column("number", "whole number", PASS_TABLES,
           "Its number among this machine's passes of this kind of work, in the order driven; "
           "stretches of one pass share it."),
    Column("place", "text", PASS_TABLES, "Where it runs: strips or headland."),
    Column("part", "whole number", ("field", "headland", "leftover"), "Number of the part."),
    Column("strip", "whole number", ("strips", "rows", STRIP_CSV, SOWN_CSV),
           "Number of the strip, across the field."),
    Column("strip", "whole number", PASS_TABLES,
           "Number of the strip it goes over, the first where there are several.", ON_HEADLAND),
    Column("piece", "whole number", ("strips", "rows"),
           "Number of the piece within the strip, along travel."),
    Column("piece", "whole number", PASS_TABLES,
           "Number of the piece of strip it goes over, the first where there are several.",
           ON_HEADLAND),
    Column("set", "whole number", STRIP_TABLES, "Number of the set it belongs to."),
    Column("row", "whole number", ("rows",), "Number of the row within its strip and layer."),
    Column("layer", "whole number", ("rows",),
           "0 for a row of the strip's own crop, 1 and up for rows between those."),
    Column("crop", "text", STRIP_TABLES,
           "Crop or mixture of its own rows, by its name in the plan."),
    Column("crop", "text", ("rows",), "Crop or mixture sown in it, by its name in the plan."),
    Column("crop", "text", PASS_TABLES,
           "Crop or mixture that it plants, treats or harvests; several joined by +."),
    Column("crop", "text", (JOBS_CSV,), "Crops or mixtures that it is done to."),
    Column("crop", "text", (SOWN_CSV,), "The crop sown; of a mixture, each of its crops."),
    Column("pieces", "whole number", (STRIP_CSV,), "How many pieces it has."),
    Column("how", "text", (SOWN_CSV,),
           "How it came into the strip: own, mixed, relay or quick crop."),
    Column("share", "number", (SOWN_CSV,), "Share of its full rate that is sown."),
    Column("rows", "whole number", STRIP_TABLES, "Planted rows of its own.", NO_OPENERS),
    Column("rows", "whole number", (SOWN_CSV,), "Planted rows that carry it.", NO_OPENERS),
    Column("width_m", "number", STRIP_TABLES, "Width across."),
    Column("width_m", "number", PASS_TABLES, "Width of the machine."),
    Column("starts", "text", PASS_TABLES, "The end it starts from, as a compass has it."),
    Column("heading_deg", "number", PASS_TABLES,
           "True heading as driven, degrees clockwise from north; of a curve, where it starts."),
    Column("a_longitude", "number", PASS_TABLES, "Where the pass starts (A), in degrees, WGS 84."),
    Column("a_latitude", "number", PASS_TABLES, "Where the pass starts (A), in degrees, WGS 84."),
    Column("b_longitude", "number", PASS_TABLES, "Where the pass ends (B), in degrees, WGS 84."),
    Column("b_latitude", "number", PASS_TABLES, "Where the pass ends (B), in degrees, WGS 84."),
    Column("rows_on", "text", PASS_TABLES,
           "Which row units, rows or sections are on, counted from the machine's left as driven."),
    Column("working", "yes or no", PASS_TABLES,
           "Whether the machine is at work; if not, it is lifted or shut and drives on."),
    Column("stops_at", "text", PASS_TABLES,
           "The small obstacles that the pass stops at, as their file counts them; mostly none."),
    Column("standing_left", "text", PASS_TABLES,
           "What stands beside it on its left that day, as driven; empty where nothing does."),
    Column("standing_right", "text", PASS_TABLES, "The same on its right."),
    Column("fills", "text", PASS_TABLES,
           "Where it refills or unloads; empty where it does not, or loads are not stated."),
    Column("turn", "text", ("passes",),
           "How a turn between passes is driven; empty of passes.", only="with --turns"),
    Column("beyond_m", "number", ("passes",),
           "How much of a way between passes lies out of the field, over what is gone around or "
           "over standing crop; 0 of passes.", only="with --turns"),
    Column("area_m2", "number", ("field", "headland", "strips", "leftover", STRIP_CSV),
           "Area on the ground."),
    Column("area_m2", "number", (SOWN_CSV,), "Area of the strip, shared with others or not."),
    Column("row_length_m", "number", STRIP_TABLES, "Length of its own planted rows, added up."),
    Column("row_length_m", "number", (SOWN_CSV,), "Length of the rows that carry it, added up."),
    Column("length_m", "number", ("rows", *PASS_TABLES), "Its length."),
    Column("seeds", "number", STRIP_TABLES, "Seeds dropped in its own rows.", NO_RATE),
    Column("seeds", "number", (SOWN_CSV,), "Seeds dropped.", NO_RATE),
    Column("seed_units", "number", STRIP_TABLES, "Those seeds in bags or other units, as sold.",
           "where no rate or unit is stated, and in mixtures, whose bags can't be added"),
    Column("seed_units", "number", (SOWN_CSV,), "Those seeds in bags or other units, as sold.",
           "where no rate or unit is stated"),
    Column("seed_kg", "number", (*STRIP_TABLES, SOWN_CSV),
           "Weight of that seed, as it stands in the bag.", NO_WEIGHT),
    Column("whole", "yes or no", STRIP_TABLES,
           "Whether it is as wide as its strip somewhere; if not, it is cut along its length."),
    Column("block", "whole number", ("strips",), "Number of its block.",
           only="where the field has several blocks"),
    Column("plant_passes", "whole number", (STRIP_CSV,), "Planting passes over it."),
    Column("spray_passes", "whole number", (STRIP_CSV,), "Spraying passes over it."),
    Column("harvest_passes", "whole number", (STRIP_CSV,), "Harvest passes over it."),
    Column("day", "text", (JOBS_CSV,), "Day it is done, year-month-day.", "where it is not known"),
    Column("verdict", "text", (JOBS_CSV,), "Whether it can be done: yes, at a cost, or no."),
    Column("reason", "text", (JOBS_CSV,), "Why not, or at what cost; the gravest reason.",
           "where it can be done without more"),
    Column("passes", "whole number", (JOBS_CSV,), "Its passes, the headland's included."),
    Column("worked_km", "number", (JOBS_CSV,), "Driven at work, in km."),
    Column("driven_km", "number", (JOBS_CSV,), "Driven in all, from gate to gate, in km."),
    Column("between_km", "number", (JOBS_CSV,),
           "Driven between passes and to the gate, in the order that drives least, in km."),
    Column("side_by_side_km", "number", (JOBS_CSV,),
           "The same, were passes driven side by side, in km."),
    Column("turns", "whole number", (JOBS_CSV,), "Turns from pass to pass; longer ways are none."),
    Column("area_worked_m2", "number", (JOBS_CSV,), "Ground that its rows or sections on work."),
    Column("hours", "number", (JOBS_CSV,), "Time from gate to gate, fills included, in hours."),
    Column("hours_at_work", "number", (JOBS_CSV,), "Of these at work."),
    Column("hours_turning", "number", (JOBS_CSV,), "Of these in turns."),
    Column("hours_driving", "number", (JOBS_CSV,),
           "Of these on other ways between passes, to the gate, and lifted over obstacles."),
    Column("hours_filling", "number", (JOBS_CSV,), "Of these filling or unloading."),
    Column("efficiency", "number", (JOBS_CSV,),
           "Field efficiency: time at full width over all time, as a share."),
    Column("fuel_l", "number", (JOBS_CSV,), "Diesel burned, in liters.",
           "where nothing is published of its kind of work"),
    Column("fuel_low_l", "number", (JOBS_CSV,), "The least it may be, in liters.", "likewise"),
    Column("fuel_high_l", "number", (JOBS_CSV,), "The most it may be, in liters.", "likewise"),
    Column("fills", "number", (JOBS_CSV,), "Times it is filled or unloaded on the way.",
           "where holds, or what a pass takes, is not stated"),
    Column("crop", "text", (LOOKS,), "Crop or mixture, by its name in the plan."),
    Column("letter", "text", (LOOKS,), "The letter that stands for it."),
    Column("color", "text", (LOOKS,), "Color of its fill: red, green and blue as #rrggbb."),
    Column("hatch", "text", (LOOKS,), "Lines over the fill, in words; none where empty."),
    Column("hatch_color", "text", (LOOKS,), "Color of those lines, likewise."),
    Column("title", "text", (VERSION,), "Name of the field in the plan."),
    Column("farm", "text", (VERSION,), "Name of the farm; empty where the plan names none."),
    Column("mark", "text", (VERSION,),
           "Eight letters that change whenever plan or boundary change; sheets have them too."),
    Column("day", "text", (VERSION,), "The plan's date, year-month-day; empty where it has none."),
    Column("width_ft", "number", (STRIP_CSV, PASSES_CSV), "That width in feet.",
           only="with US units"),
    Column("length_ft", "number", (PASSES_CSV,), "Its length in feet.", only="with US units"),
    Column("area_acres", "number", (STRIP_CSV, SOWN_CSV), "Its area in acres.",
           only="with US units"),
    Column("seed_lb", "number", (STRIP_CSV, SOWN_CSV), "That weight in pounds.", NO_WEIGHT,
           only="with US units"),
    Column("area_ha", "number", (STRIP_CSV, SOWN_CSV), "Its area in hectares.",
           only="with metric units"),
    Column("driven_mi", "number", (JOBS_CSV,), "Driven in all, in miles.", only="with US units"),
    Column("fuel_gal", "number", (JOBS_CSV,), "Diesel burned, in gallons.",
           "where nothing is published of its kind of work", only="with US units"),
)  # fmt: skip
"""All columns; in each table they stand in this order."""


UNITS = {
    "_longitude": "degrees, WGS 84",
    "_latitude": "degrees, WGS 84",
    "_deg": "degrees",
    "_km": "km",
    "_mi": "miles",
    "_m2": "m2",
    "_ha": "ha",
    "_acres": "acres",
    "_m": "m",
    "_ft": "ft",
    "_kg": "kg",
    "_lb": "lb",
    "_l": "liters",
    "_gal": "US gallons",
}
"""Units by the ending of a column's name."""


def unit_of(name: str) -> str:
    """Give the unit of a column in words; empty of counts, texts and shares.

    >>> unit_of("area_m2"), unit_of("hours_turning"), unit_of("crop")
    ('m2', 'hours', '')
    """
    if name.startswith("hours"):
        return "hours"
    return next((unit for ending, unit in UNITS.items() if name.endswith(ending)), "")


SHORT = {
    "row_length_m": "row_len_m",
    "heading_deg": "heading",
    "a_longitude": "a_lon",
    "a_latitude": "a_lat",
    "b_longitude": "b_lon",
    "b_latitude": "b_lat",
    "standing_left": "stand_left",
    "standing_right": "stand_rgt",
}
"""What columns are called where names have at most ten letters: in Shapefiles."""


def short_name(name: str) -> str:
    """Give a column's name in at most ten letters.

    >>> short_name("standing_right"), short_name("crop")
    ('stand_rgt', 'crop')
    """
    return SHORT.get(name, name)


def columns_of(table: str) -> tuple[Column, ...]:
    """Give the columns of a table, in order."""
    return tuple(column for column in COLUMNS if table in column.tables)


def order(table: str, given: Iterable[str]) -> tuple[Column, ...]:
    """Put the columns that a table was given in order.

    Args:
        table: the table.
        given: names of columns, in any order.

    Raises:
        LookupError: one is not described, or one that is always there was not given.
    """
    names, described = set(given), columns_of(table)
    lacking = {column.name for column in described if not column.only} - names
    unknown = names - {column.name for column in described}
    if lacking or unknown:
        raise LookupError(
            f"{table}: columns not given: {sorted(lacking)}; not described: {sorted(unknown)}"
        )
    return tuple(column for column in described if column.name in names)
