"""Describe every column of every table once: its unit, what it means, and where it stands.

Tables and files order their columns as they stand here, and docs/tables_reference.md is made from
this. To add a column, describe it here and give its values where its table is made.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import Literal

from striplay.column import Column

STRIP_CSV, SOWN_CSV, JOBS_CSV = "strips.csv", "strip_crops.csv", "operations.csv"
PASSES_CSV = "passes.csv"
YIELDS_CSV, STANDS_CSV = "yields.csv", "stands.csv"
LOOKS, VERSION = "looks", "version"
FIELDS, FIELD_HEADLANDS, FIELD_STRIPS = "fields", "field_headlands", "field_strips"
FIELD_CROPS, FIELD_NOTICES, FIELD_JOBS = "field_crops", "field_notices", "field_operations"
SUMMARY_CSV, CROPS_CSV = "summary.csv", "crops.csv"
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
    FIELDS: "One polygon a field, holes filled, of several parts perhaps; none where refused.",
    FIELD_HEADLANDS: "One polygon the headland of a field, of several parts perhaps.",
    FIELD_STRIPS: "One polygon a piece of a strip of a field.",
    FIELD_CROPS: "One line a field and crop; seed is what to buy for it, headland included.",
    FIELD_NOTICES: "One line what to mind of a field, where not all of them share it.",
    FIELD_JOBS: "One line a field and operation, in the order done; only with --operations.",
    SUMMARY_CSV: "The layer `fields` without its shapes.",
    CROPS_CSV: "The table `field_crops`.",
    YIELDS_CSV: "One line what a strip, or some of its rows, yielded of a crop.",
    STANDS_CSV: "One line how a crop stood in a strip.",
    "entries": "One line an entry of the season's records, a point where it has a place.",
    "editions": "One polygon the field of an edition of a plan that something was recorded for.",
    "edition_pieces": "One polygon a piece of a strip of such an edition.",
    "edition_sown": "One line a crop sown in a strip of such an edition.",
    "edition_crops": "One line a crop of such an edition.",
    "edition_passes": "One line a piece of strip that a pass of such an edition works.",
    "records_version": "Of which version the store of records is, in one line.",
}
"""Every table and what a line of it is; those with an ending are files."""
STORE_FILE = "records.gpkg"
"""The file of the records of a season; its tables stand last in `TABLES`."""

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
MANY_LAYERS = {FIELDS: "MultiPolygon", FIELD_HEADLANDS: "MultiPolygon", FIELD_STRIPS: "Polygon"}
"""The layers of many fields laid by one template, and what their shapes are."""
MANY_TABLES = (*MANY_LAYERS, FIELD_CROPS, FIELD_NOTICES, FIELD_JOBS)
"""Its tables, each in parts of some hundreds of fields."""


STRIP_TABLES = ("strips", STRIP_CSV)
PASS_TABLES = ("passes", PASSES_CSV)
NO_OPENERS = "where its drill's openers are not given"
DRILLED = f"{NO_OPENERS}, and where a drill sows it after a harvest"
NO_RATE = "where no rate is stated, or one by weight without seed_size"
NO_WEIGHT = "where no rate is stated, or one by number without seed_size"
ON_HEADLAND = "on the headland"

RECORDED = ("entries",)
OF_EDITIONS = ("edition_pieces", "edition_sown", "edition_crops", "edition_passes")
OF_OTHERS = "of other kinds of entries, and where it is not stated"


def _of_records() -> tuple[Column, ...]:
    """Describe the columns of the store of records."""
    return (
        Column("number", "whole number", RECORDED, "Its own, in the order written."),
        Column("number", "whole number", ("edition_passes",), "Number of the pass."),
        Column("kind", "text", RECORDED, "done, stand, event, yield, remark or undo."),
        Column("mark", "text", ("editions", *RECORDED, *OF_EDITIONS),
               "Eight letters of the edition of the plan."),
        Column("field", "text", ("editions",), "Title of the plan, else the name of its file."),
        Column("units", "text", ("editions",), "How the plan speaks: us or metric."),
        Column("strips_mark", "text", ("editions",),
               "Eight letters that editions of the same strips and crops share."),
        Column("headland", "yes or no", ("editions",), "Whether the field has one."),
        Column("at", "text", RECORDED, "When it was written, in UTC."),
        Column("day", "text", RECORDED, "Day of which it is, year-month-day."),
        Column("operation", "text", RECORDED, "Name of the operation done.", OF_OTHERS),
        Column("operation", "text", ("edition_passes",), "Name of the operation."),
        Column("pass_number", "whole number", RECORDED, "Number of the pass done.", OF_OTHERS),
        Column("strip", "whole number", RECORDED, "Number of the strip.",
               "where it is of no one strip"),
        Column("strip", "whole number", ("edition_pieces", "edition_sown"),
               "Number of the strip."),
        Column("strip", "whole number", ("edition_passes",), "Number of the strip.", ON_HEADLAND),
        Column("piece", "whole number", RECORDED, "Number of the piece of that strip.",
               "where it is of all its pieces"),
        Column("piece", "whole number", ("edition_pieces",), "Number of the piece of that strip."),
        Column("piece", "whole number", ("edition_passes",), "Number of the piece of that strip.",
               ON_HEADLAND),
        Column("headland", "yes or no", RECORDED, "Whether it is of the headland."),
        Column("crop", "text", RECORDED, "The crop counted or weighed.", OF_OTHERS),
        Column("crop", "text", ("edition_pieces",), "Crop or mixture of its own rows."),
        Column("crop", "text", ("edition_sown", "edition_crops"), "The crop, by its name."),
        Column("rows", "whole number", ("edition_pieces",), "Planted rows of its own.", NO_OPENERS),
        Column("rows", "whole number", ("edition_sown",), "Rows that carry it.", DRILLED),
        Column("first_row", "whole number", RECORDED, "The first row counted or weighed.",
               OF_OTHERS),
        Column("last_row", "whole number", RECORDED, "The last of those rows.", OF_OTHERS),
        Column("start", "text", RECORDED, "When work began, hours:minutes.", OF_OTHERS),
        Column("stop", "text", RECORDED, "When work ended, hours:minutes.", OF_OTHERS),
        Column("lot", "text", RECORDED, "Lot of the seed or product.", OF_OTHERS),
        Column("plants", "whole number", RECORDED, "Plants counted.", OF_OTHERS),
        Column("length_m", "number", RECORDED, "Length counted or harvested along the rows.",
               OF_OTHERS),
        Column("row_m", "number", RECORDED, "Ground that a row counted stands for, across.",
               OF_OTHERS),
        Column("row_m", "number", ("edition_sown",), "Ground that a row stands for, across."),
        Column("width_m", "number", ("edition_pieces",), "Width across."),
        Column("area_m2", "number", ("edition_pieces",), "Area on the ground."),
        Column("row_length_m", "number", ("edition_pieces",),
               "Length of its own planted rows, added up."),
        Column("frame_m2", "number", RECORDED, "Ground in the frame that plants were counted in.",
               OF_OTHERS),
        Column("drilled", "yes or no", ("edition_sown",), "Whether a drill sows it."),
        Column("reaped", "yes or no", ("edition_sown",), "Whether it is harvested."),
        Column("grain_kg", "number", RECORDED, "Weight of grain as harvested.", OF_OTHERS),
        Column("moisture", "number", RECORDED, "Moisture of it, as a share of weight.", OF_OTHERS),
        Column("area_m2", "number", RECORDED, "Ground that the grain came from.", OF_OTHERS),
        Column("base_moisture", "number", ("edition_crops",),
               "Moisture that it is sold at, as a share of weight.", "where it is not known"),
        Column("bushel_kg", "number", ("edition_crops",), "Weight of a bushel.",
               "where it is not known"),
        Column("test_weight_kg_per_m3", "number", RECORDED, "Weight of that grain by volume.",
               OF_OTHERS),
        Column("what", "text", RECORDED, "What happened, in a few words.", OF_OTHERS),
        Column("photo", "text", RECORDED, "Path of a picture, from the folder of the records.",
               OF_OTHERS),
        Column("operator", "text", RECORDED, "Who did it; empty where it is not stated."),
        Column("remark", "text", RECORDED, "Whatever else there is to say; mostly empty."),
        Column("withdraws", "whole number", RECORDED,
               "Number of the entry in whose place it stands.", "where it stands in none"),
        Column("version", "whole number", ("records_version",), "Number of the version."),
        *_of_records_worked_out(),
    )  # fmt: skip


def _of_records_worked_out() -> tuple[Column, ...]:
    """Describe the columns of what is worked out of records."""
    both, yields, stands = (YIELDS_CSV, STANDS_CSV), (YIELDS_CSV,), (STANDS_CSV,)
    us, metric = "with US units", "with metric units"
    return (
        Column("strip", "whole number", both, "Number of the strip."),
        Column("crop", "text", both, "The crop."),
        Column("first_row", "whole number", yields, "The first row that it came from.",
               "where it is of all rows"),
        Column("last_row", "whole number", yields, "The last of those rows.",
               "where it is of all rows"),
        Column("day", "text", both, "Day of the last entry, year-month-day."),
        Column("loads", "whole number", yields, "Entries that it is made of."),
        Column("counts", "whole number", stands, "Entries that it is made of."),
        Column("plants", "whole number", stands, "Plants counted in all."),
        Column("area_m2", "number", yields, "Ground that the grain came from."),
        Column("area_m2", "number", stands, "Ground of the rows that were counted."),
        Column("weighed_kg", "number", yields, "Weight of grain as harvested."),
        Column("grain_kg", "number", yields, "The same at the moisture that it is sold at."),
        Column("kg_per_m2", "number", yields, "Yield by area, at that moisture."),
        Column("plants_per_m2", "number", stands, "Plants by area."),
        Column("yield_bu_per_acre", "number", yields, "That yield in bushels to the acre.",
               "where the weight of a bushel is not known", us),
        Column("yield_lb_per_acre", "number", yields, "That yield in pounds to the acre.", "", us),
        Column("yield_t_per_ha", "number", yields, "That yield in tonnes to the hectare.", "",
               metric),
        Column("plants_per_acre", "number", stands, "Plants to the acre.", "", us),
        Column("plants_per_ha", "number", stands, "Plants to the hectare.", "", metric),
    )  # fmt: skip


OF_ONE: tuple[Column, ...] = (
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
    Column("replicate", "whole number", STRIP_TABLES, "Number of the replicate of the trial.",
           only="with [trial]"),
    Column("treatment", "text", STRIP_TABLES,
           "What it stands for in the trial: strips; alone, a check of its crop; or usual, its "
           "crop as the farm grows it.",
           only="with [trial]"),
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
           "How it came into the strip: own, mixed, relay, quick crop or after harvest."),
    Column("share", "number", (SOWN_CSV,), "Share of its full rate that is sown."),
    Column("rows", "whole number", STRIP_TABLES, "Planted rows of its own.", NO_OPENERS),
    Column("rows", "whole number", (SOWN_CSV,), "Planted rows that carry it.", DRILLED),
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
    Column("hours", "number", (JOBS_CSV,),
           "Time of passes, turns, ways and fills from gate to gate, in hours: what is counted."),
    Column("hours_likely", "number", (JOBS_CSV,),
           "Hours to reckon with, as sheets tell them: the same, or what the best field efficiency "
           "published for that work leaves, where that is more."),
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
    *_of_records(),
)  # fmt: skip
"""The columns of one field and its records."""


def _of_many() -> tuple[Column, ...]:
    """Describe the columns of many fields; those of strips and operations are as of one field."""
    fields, crops = (FIELDS, SUMMARY_CSV), (FIELD_CROPS, CROPS_CSV)
    refused, driven = "where it is refused", "with --operations"
    both = (*MANY_TABLES, SUMMARY_CSV, CROPS_CSV)
    unlike = {"block", "day", "driven_mi", "fuel_gal"}
    copied = {"strips": FIELD_STRIPS, JOBS_CSV: FIELD_JOBS}
    return (
        Column("number", "whole number", both, "Number of the field: its place in its file."),
        Column("field", "text", both, "What its file calls it: the column of --id, else its name."),
        Column("verdict", "text", fields,
               "laid; laid, with a warning; can't be done; or refused."),
        Column("reason", "text", fields, "The gravest of what was found, and what is to "
               "mind beside other fields; or why it is refused."),
        Column("longitude", "number", fields, "Of its middle, in degrees, WGS 84.", refused),
        Column("latitude", "number", fields, "Of its middle, in degrees, WGS 84.", refused),
        Column("area_m2", "number", fields, "Area on the ground, holes included.", refused),
        Column("heading_deg", "number", fields,
               "True heading of all its rows, degrees clockwise from north.",
               "where it is refused, along curves, and where blocks run several ways"),
        Column("offset_m", "number", fields, "How far outside the land the first set begins.",
               "likewise, and where blocks differ in it"),
        Column("strips", "whole number", fields, "How many strips it has.", refused),
        Column("strips_m2", "number", fields, "Ground in strips.", refused),
        Column("headland_m2", "number", fields, "Ground in its headland.", refused),
        Column("obstacles_m2", "number", fields, "Ground that its boundary leaves out inside.",
               refused),
        Column("leftover_m2", "number", fields, "Ground that no strip covers.", refused),
        Column("row_length_m", "number", fields, "Length of planted rows, added up.", refused),
        Column("cost_per_year", "number", fields, "What its layout costs a year.",
               "where it is refused, and along curves"),
        Column("usual_per_year", "number", fields,
               "What rows along its longest edge would cost, likewise.",
               "where no heading is searched"),
        Column("notices", "whole number", fields, "How many lines it has in `field_notices`."),
        Column("driven_km", "number", fields, "Driven in all operations, in km.", refused, driven),
        Column("hours_likely", "number", fields, "Hours of all operations to reckon with.",
               refused, driven),
        Column("fuel_l", "number", fields, "Diesel of all operations, in liters, as far as known.",
               refused, driven),
        Column("area_m2", "number", (FIELD_HEADLANDS,), "Area on the ground."),
        Column("crop", "text", crops, "The crop, by its name in the plan."),
        Column("strips", "whole number", crops, "Strips that it grows in."),
        Column("area_m2", "number", crops, "Ground of those strips, shared with others or not."),
        Column("row_length_m", "number", crops, "Length of the rows that carry it, added up."),
        Column("seeds", "number", crops, "Seeds dropped, headland and overlap included.", NO_RATE),
        Column("seed_units", "number", crops,
               "Those seeds in bags or other units, rounded up field by field.",
               "where no rate or unit is stated"),
        Column("seed_kg", "number", crops, "Weight of that seed.", NO_WEIGHT),
        Column("kind", "text", (FIELD_NOTICES,), "What it is about, as in accounts.json."),
        Column("severity", "text", (FIELD_NOTICES,), "stop or mind, as in accounts.json."),
        Column("text", "text", (FIELD_NOTICES,), "The notice."),
        Column("longitude", "number", (FIELD_NOTICES,), "Where, in degrees, WGS 84.",
               "where it is of no one place"),
        Column("latitude", "number", (FIELD_NOTICES,), "Where, in degrees, WGS 84.", "likewise"),
        Column("area_acres", "number", (SUMMARY_CSV, CROPS_CSV), "Its area in acres.",
               only="with US units"),
        Column("area_ha", "number", (SUMMARY_CSV, CROPS_CSV), "Its area in hectares.",
               only="with metric units"),
        Column("day", "text", (FIELD_JOBS,), "Day it is done, year-month-day; empty if not known."),
        *(replace(column, tables=(copied[table],))
          for table in copied for column in OF_ONE
          if table in column.tables and column.name not in unlike),
    )  # fmt: skip


COLUMNS: tuple[Column, ...] = (*OF_ONE, *_of_many())
"""All columns; in each table they stand in this order."""


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
