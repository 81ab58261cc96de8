"""Tell which crops of a set stand together in one strip, or in one row."""

from collections.abc import Iterable, Mapping
from itertools import combinations
from typing import Literal

from striplay.section.section import Section

Together = Mapping[frozenset[str], Literal["row", "strip"]]
"""Pairs of crops that stand in one row, as a mixture's parts do, or in one strip."""


def together_in(section: Section) -> Together:
    """Tell which crops of a set stand in one strip: parts of mixtures, crops between rows."""
    strips = (section.crops_of(index) for index in range(len(section.strips)))
    rows = (tuple(layer.crop for layer in row.sown) for row in section.rows)
    return {**_pairs(strips, "strip"), **_pairs(rows, "row")}


def in_one_row(crops: Iterable[str]) -> Together:
    """Tell the pairs of crops that one row holds."""
    return _pairs([crops], "row")


def _pairs(
    groups: Iterable[Iterable[str]], where: Literal["row", "strip"]
) -> dict[frozenset[str], Literal["row", "strip"]]:
    return {frozenset(pair): where for crops in groups for pair in combinations(set(crops), 2)}
