"""Write a commented plan to fill in."""

import json

from striplay.plain import escaped
from striplay.plan.models import FieldSource
from striplay.units import UnitSystem

_US = {
    "planter": 'rows = 16\nspacing = "30 in"',
    "header": 'rows = 8\nspacing = "30 in"',
    "platform": 'width = "40 ft"',
    "clearance": '"6 in"',
    "sprayer": 'width = "120 ft"\nsections = 12',
    "corn": 'rate = "34000 seeds/acre"',
    "soybean": 'rate = "140000 seeds/acre"',
    "shortest": '"66 ft"',
    "land": '"300 per acre"',
    "yield": '"190 bu/acre"',
    "price": '"4.50 per bu"',
    "speed": '"5 mph"',
}
_METRIC = {
    "planter": 'rows = 8\nspacing = "0.75 m"',
    "header": 'rows = 8\nspacing = "0.75 m"',
    "platform": 'width = "6 m"',
    "clearance": '"15 cm"',
    "sprayer": 'width = "24 m"\nsections = 8',
    "corn": 'rate = "84000 seeds/ha"',
    "soybean": 'rate = "450000 seeds/ha"',
    "shortest": '"20 m"',
    "land": '"740 per ha"',
    "yield": '"12 t/ha"',
    "price": '"180 per t"',
    "speed": '"8 km/h"',
}


def plan_template(title: str, field: FieldSource, units: UnitSystem, comment: str) -> str:
    """Write a plan for a boundary: true where the boundary tells, an example everywhere else.

    Args:
        title: name of the field.
        field: where the boundary is, relative to the plan.
        units: how reports speak, and the units of the examples.
        comment: what was found in the boundary, in one line.
    """
    own = _US if units == "us" else _METRIC
    return f"""\
# A plan for striplay. What says example = true is none of the farm's: put its own in its place,
# and take that line away. Until then striplay tells of it.
# Lengths, rates and amounts are text with a unit, such as "30 in", "0.75 m", "34000 seeds/acre".
title = {_text(title)}
units = "{units}"                      # us | metric: how reports speak
# date = 2026-04-01                 # printed on the sheets
# ink = "gray"                      # sheets for a printer that has black alone

# [farm]                            # on every sheet, what is given of it
# name = "Alder Bend Farm"          # operator, prepared_by, county, state, legal likewise

[field]                             # {comment}
{_field_lines(field)}
[headland]                          # ground to turn on
where = "around"                    # around | ends | none
passes = 2                          # of `machine`; or width = {own["shortest"]}
machine = "planter"
crop = "soybean"                    # low, and off first; leave out where it is not planted

[direction]
heading = "best"                    # best | degrees clockwise from true north, 0 up to 180
# offset = "best"                   # how far outside the land the first set begins
# along = "contour.geojson"         # or rows along a line; or pivot = [longitude, latitude]
start = "left"                      # left | right: side of the first strip, looking along
shortest = {own["shortest"]:<25}# shorter pieces of row are not planted

[cost]                              # what best means; prices left out are orders of magnitude
aim = "money"                       # money | land (least not cropped) | passes (fewest)
# land = {own["land"]:<27}# what cropped land leaves a year

[machines.planter]                  # a drill: width and spacing instead of rows and spacing
example = true
does = "plant"
{own["planter"]}
shut_off = "none"                   # row | none | number of sections: plants nothing twice
# cost = "300 per hour"             # machine and operator; turn = "40 s", speed = {own["speed"]}

[machines.corn_head]                # a row-crop header
example = true
does = "harvest"
{own["header"]}

[machines.platform]
example = true
does = "harvest"
{own["platform"]}
# clearance = {own["clearance"]:<21} # how far it keeps off the neighbor's first row

[machines.sprayer]
example = true
does = "spray"
{own["sprayer"]}

[crops.corn]
example = true
planter = "planter"
harvester = "corn_head"
{own["corn"]:<36}# seeds dropped, not plants standing
emergence = 0.95                    # share of seeds that stand
unit = "80000 seeds"                # one bag
# share = 0.5                       # wished share of the cropped land, headland included
# yield = {own["yield"]:<26}# grown alone; with price what striplay pay needs of each crop
# price = {own["price"]}

[crops.soybean]
example = true
planter = "planter"
harvester = "platform"
{own["soybean"]}
emergence = 0.85
unit = "140000 seeds"

[[strips]]                          # one set, in order from the start side; it repeats
crop = "corn"
rows = "fit"                        # equal and narrow; or a number of rows, passes = 1, a width

[[strips]]
crop = "soybean"
rows = "fit"

[season]
swap = true                         # crops swap places next season, so strips are equally wide
"""


def _field_lines(field: FieldSource) -> str:
    asked = field.model_dump(exclude_none=True)
    lines = [f"{key} = {_text(value)}" for key, value in asked.items()]
    if field.obstacles is None:
        lines.append('# obstacles = "obstacles.geojson"  # polygons, lines, points')
    return "\n".join(lines) + "\n"


def _text(value: str) -> str:
    return escaped(json.dumps(value, ensure_ascii=False))
