"""Say what trials and advisers found of each system, each with its source.

Only what is published and at hand stands here; where nothing is, that is said.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from striplay.economics.edges import Response
from striplay.units import percent


@dataclass(frozen=True, slots=True)
class Evidence:
    """Something found.

    Attributes:
        said: what, in words.
        source: by whom, where it is published.
    """

    said: str
    source: str


NO_SOURCE = "no source at hand"
VAN_OORT = Evidence(
    "wheat and maize: gains fall fast with the width of strips; no single width is best",
    "van Oort et al., European Journal of Agronomy 112:125936, 2020",
)
HALF = Evidence(
    "half-and-half planting suits a header of half the planter's width", "farm press, 2005"
)
PATTERNS = Evidence(
    "row sets in use: maize and soybean 2:3 and 2:4 rows (a layout, not a gain)",
    "Agronomy 14:1220, 2024",
)
BEST_ALONE = Evidence(
    "castor and groundnut 1:5 rows: land equivalent ratio 1.13, and yet groundnut alone left 12.5 "
    "% more: look at the value, not the ratio alone",
    NO_SOURCE,
)
TEMESGEN = Evidence(
    "maize and bean together 5.70 and 0.21 t/ha, alone 5.88 and 0.62: land equivalent ratio 1.31 "
    "(whether in one row or by turns is not told here)",
    "Temesgen 2015, in Paut et al., Scientific Data, 2024",
)
BANTIE = Evidence(
    "maize and potato by turns, together 4.1 and 23.3 t/ha, alone 4.2 and 24.7: land equivalent "
    "ratio 1.92",
    "Bantie 2015, in Paut et al., Scientific Data, 2024",
)
NO_MIXED = Evidence(
    "of cereals and legumes in one row or drill pass no trial is at hand", NO_SOURCE
)
RELAY_RATIO = Evidence(
    "wheat at 62 % and soybean at 71 % of alone: land equivalent ratio 1.33 (an example reckoned, "
    "not a promise)",
    NO_SOURCE,
)
OHIO = Evidence(
    "soybean goes into headed wheat up to 6 or 7 weeks before its harvest, two rows in each skip "
    "of 22 in between twin rows; clipped at harvest it loses up to two trifoliates",
    "Ohio State University, modified relay",
)
RELAY_WIDTH = Evidence(
    "wheat and soybean in relay: strips of 2.7 m did better than narrower ones",
    "Scientific Reports, 2023, s41598-023-43288-3",
)
COVERS = Evidence(
    "corn must be free of weeds from V2 to V6; covers are sown between its rows at V4 to V7",
    NO_SOURCE,
)
NO_QUICK = Evidence(
    "of a quick crop's yield between slow rows, or what it costs them, no trial is at hand",
    NO_SOURCE,
)
OF_SYSTEM = {
    "rows": (HALF, PATTERNS, BEST_ALONE),
    "strips": (VAN_OORT,),
    "mixed stand": (NO_MIXED, TEMESGEN, BANTIE),
    "relay": (RELAY_RATIO, RELAY_WIDTH, OHIO),
    "quick crop": (NO_QUICK, COVERS),
}
"""What is known whatever the crops; of strips the studies of rows at edges come before."""


def of_edges(studies: Sequence[Response]) -> list[Evidence]:
    """Say what studies found of rows at edges, each study in a line."""
    found: dict[str, list[Response]] = {}
    for one in studies:
        found.setdefault(one.study, []).append(one)
    return [_of_study(each) for each in found.values()]


def _of_study(each: Sequence[Response]) -> Evidence:
    """Say in a line what a study found, crop by crop."""
    one = each[0]
    pairs = dict.fromkeys((r.crop, r.beside) for r in each)
    gains = ", ".join(_gain([r for r in each if (r.crop, r.beside) == pair]) for pair in pairs)
    rows = "whole strips" if one.row is None else "outer rows"
    wide = f" of {one.strip_rows}-row strips" if one.strip_rows else ""
    where = ", ".join(part for part in (one.place, one.years) if part)
    at = f" ({where})" if where else ""
    note = f"; {one.note}" if one.row is None and one.low == one.high == 0.0 else ""
    return Evidence(f"{rows}{wide} against inner rows or the crop alone: {gains}{at}{note}",
                    one.source)  # fmt: skip


def _gain(each: Sequence[Response]) -> str:
    """Say what a study found of a crop beside another, from least to most."""
    low, high = min(r.low for r in each), max(r.high for r in each)
    gain = percent(low) if low == high else f"{percent(low)} to {percent(high)}"
    return f"{each[0].crop} beside {each[0].beside} {gain}"
