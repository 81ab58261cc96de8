"""Make plots of what the season's records hold: rows weighed by themselves."""

from collections.abc import Iterable

from striplay.limits import EDGE_ROWS
from striplay.records.plots import Plot
from striplay.records.yields import YieldOf

RECORDED = "recorded"
"""The treatment and block of plots that no trial tells apart."""


def plots_of_rows(yields: Iterable[YieldOf]) -> list[Plot]:
    """Give the plots of rows that were weighed by themselves.

    A row up to three from an edge is at its place from there; rows farther in are inside. Several
    rows weighed together that lie in both tell nothing of either, and are left out.
    """
    found = []
    for one in yields:
        if one.rows is None or one.rows_of is None:
            continue
        first, last = one.rows
        place = min(first, one.rows_of + 1 - last)
        inner = place > EDGE_ROWS
        if not inner and first != last:
            continue
        row = None if inner else min(first, one.rows_of + 1 - first)
        plot = Plot(
            RECORDED, RECORDED, one.crop, one.kg_per_m2, strip=one.strip, row=row, inner=inner
        )
        found.append(plot)
    return found
