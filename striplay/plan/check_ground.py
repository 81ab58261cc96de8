"""Check what a plan says of the ground and of costs: obstacles, blocks, curves, slope."""

from collections.abc import Mapping
from typing import Any, Literal

from striplay.plan.cost import Cost, Slope
from striplay.plan.faults import Faults
from striplay.plan.models import Block, Direction, Obstacles

Blocks = tuple[Block, ...] | Literal["suggest"]


def read_blocks(faults: Faults, tables: object) -> Blocks:
    """Read the blocks, or that they are to be suggested."""
    if tables == "suggest":
        return "suggest"
    if not isinstance(tables, list):
        faults.add("blocks", 'must be "suggest", or a list of tables, each written [[blocks]]')
        return ()
    read = (
        faults.read(Block, table, f"blocks[{number}]")
        for number, table in enumerate(tables, start=1)
    )
    return tuple(block for block in read if block is not None)


def read_ground_tables(
    faults: Faults, raw: Mapping[str, Any], direction: Direction | None, blocks: Blocks
) -> tuple[Obstacles | None, Cost | None, Slope | None]:
    """Read obstacles, cost and slope, and check what must not stand together."""
    obstacles = faults.read(Obstacles, raw.get("obstacles", {}), "obstacles")
    cost = faults.read(Cost, raw.get("cost", {}), "cost")
    slope = faults.read(Slope, raw["slope"], "slope") if "slope" in raw else None
    if slope is not None and slope.along_row is not None and slope.downhill_deg is None:
        faults.add("slope.downhill", "is missing: along_row needs it; for example downhill = 135")
    field = raw.get("field")
    if "obstacles" in raw and isinstance(field, Mapping) and "obstacles" not in field:
        faults.add("obstacles", "has no use without a file: obstacles = under [field]")
    if direction is not None:
        _check_curves(faults, direction, blocks)
        _check_headland_of_curves(faults, direction, raw.get("headland"))
        if blocks == "suggest" and direction.heading != "best" and not _ways(direction):
            faults.add(
                "direction.heading",
                'must be "best" with blocks = "suggest", which looks for headings',
            )
    return obstacles, cost, slope


def _ways(direction: Direction) -> list[str]:
    return [key for key in ("along", "pivot") if getattr(direction, key) is not None]


def _check_headland_of_curves(faults: Faults, direction: Direction, headland: object) -> None:
    """Check that curves have no headland at the ends only: where rows end is told by a heading."""
    where = headland.get("where") if isinstance(headland, Mapping) else None
    if where == "ends" and _ways(direction):
        faults.add(
            "headland.where",
            f'"ends" has no use with direction.{_ways(direction)[0]}; take around or none',
        )


def _check_curves(faults: Faults, direction: Direction, blocks: Blocks) -> None:
    """Check that a curve stands alone: one of along and pivot, and neither heading nor blocks."""
    ways = _ways(direction)
    if len(ways) > 1:
        faults.add("direction", "has both along and pivot; keep one")
    if ways and direction.heading != "best":
        faults.add("direction.heading", f"has no use with {ways[0]}; take it out")
    if ways and direction.offset_m not in {None, "best"}:
        faults.add("direction.offset", f"has no use with {ways[0]}; take it out")
    if ways and blocks:
        faults.add("blocks", f"can't stand with direction.{ways[0]}; keep one")
