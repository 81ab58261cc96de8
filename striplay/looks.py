"""How crops and ground are shown: fills in color and in gray, and a letter for each crop."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Ink = Literal["color", "gray"]
Hatch = Literal[
    "", "rising", "falling", "across", "upright", "grid", "crossed", "dots", "wide rising",
    "wide falling", "dashes",
]  # fmt: skip
"""Lines over a fill, as they run on the page; "" for none."""


@dataclass(frozen=True, slots=True)
class Fill:
    """A fill: its color, and lines over it that tell it apart without color.

    Attributes:
        color: as #rrggbb; empty for none.
        hatch: the lines over it.
        line: their color.
    """

    color: str
    hatch: Hatch = ""
    line: str = "#333333"


CROP_FILLS: dict[Ink, tuple[Fill, ...]] = {
    "color": (
        Fill("#fff972", "rising"),
        Fill("#867aed", "dots"),
        Fill("#a7effe", "falling"),
        Fill("#9e8d00", "across"),
        Fill("#d4b6b7", "crossed"),
        Fill("#e4ffd0", "grid"),
        Fill("#afc179", "upright"),
        Fill("#cc6896", "wide rising"),
        Fill("#878c6a", "dashes"),
        Fill("#82aecf", "wide falling"),
    ),
    "gray": (
        Fill("#ffffff", "dots"),
        Fill("#b8b8b8", "falling"),
        Fill("#ffffff", "crossed"),
        Fill("#e0e0e0", "grid"),
        Fill("#ffffff", "wide falling"),
        Fill("#ffffff", "rising"),
        Fill("#ffffff", "upright"),
        Fill("#d9d9d9", "across"),
        Fill("#cccccc", ""),
        Fill("#b8b8b8", "dashes"),
    ),
}
"""Fills of crops, in order of the set; they come round again after the last.

Those in color differ for every usual way of seeing color, those in gray by level and by hatch; the
first ones differ most. tests/unit/test_crop_fills.py holds them to it.
"""
HEADLAND = Fill("#ececec")
LEFTOVER = Fill("#ffffff", "dashes", "#9a9a9a")
OBSTACLE = Fill("#6b6b6b")


@dataclass(frozen=True, slots=True)
class Look:
    """How a crop is shown: its fill, and the letter that stands for it."""

    fill: Fill
    letter: str


def looks_of(names: Sequence[str], ink: Ink) -> dict[str, Look]:
    """Give each crop or mixture its fill and a letter of its own.

    The letter is the first of its name that no crop before it has; else the first that is free.

    >>> {name: look.letter for name, look in looks_of(["corn", "clover", "oats"], "gray").items()}
    {'corn': 'C', 'clover': 'L', 'oats': 'O'}
    """
    fills, taken = CROP_FILLS[ink], set[str]()
    looks = {}
    for index, name in enumerate(names):
        tried = [one.upper() for one in name if one.isalpha()] + [chr(65 + n) for n in range(26)]
        letter = next((one for one in tried if len(one) == 1 and one not in taken), "*")
        taken.add(letter)
        looks[name] = Look(fills[index % len(fills)], letter)
    return looks
