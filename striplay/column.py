"""Say what a column of a table is: its name, its type, its unit by its name's ending."""

from dataclasses import dataclass
from typing import Literal

Type = Literal["whole number", "number", "text", "yes or no"]


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


UNITS = {
    "_bu_per_acre": "bushels to the acre",
    "_lb_per_acre": "lb to the acre",
    "_t_per_ha": "t to the hectare",
    "kg_per_m2": "kg to the m2",
    "kg_per_m3": "kg to the m3",
    "plants_per_m2": "plants to the m2",
    "plants_per_acre": "plants to the acre",
    "plants_per_ha": "plants to the hectare",
    "longitude": "degrees, WGS 84",
    "latitude": "degrees, WGS 84",
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
