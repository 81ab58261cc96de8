"""Run the flow from a plan to a layout, and show it as tables: the public face."""

from dataclasses import asdict, dataclass, replace
from functools import cached_property
from typing import Any

import shapely

from striplay.accounts.count import (
    PieceFigures,
    check_closed,
    count_crops,
    count_drawn,
    count_headland,
    count_passes,
)
from striplay.errors import PlanError
from striplay.files.shapes import has_others, read_shapes
from striplay.ground import Ground, locate, place_lines
from striplay.growing import Season, pairs_of, season_of
from striplay.layout.block_parts import block_parts
from striplay.layout.blocks import split_blocks
from striplay.operations.curve import draw_along, draw_rings
from striplay.operations.draw import draw, draw_blocks, search_whole
from striplay.operations.drawn import Drawn
from striplay.plan.models import Plan
from striplay.search.cost import grade_along_row
from striplay.search.headings import Searched
from striplay.search.point_rows import PointRows
from striplay.search.suggest import suggest_blocks
from striplay.season.pairing import Judgement
from striplay.section.contour import contour_warnings, row_grade_warning
from striplay.section.fit import StripFit
from striplay.section.section import Section
from striplay.section.sets import SetFit, fit_crops, fit_sets
from striplay.section.systems import sections_of


def lay(plan: Plan) -> "Layout":
    """Lay a plan's strips on its field.

    Raises:
        PlanError: no field, no strips, or no width that fits.
        BoundaryError: a boundary that can't be used.
    """
    sections = sections_of(plan)
    ground = read_ground(plan)
    drawn = _drawn(plan, sections, ground)
    layout = Layout(plan, ground, drawn, count_drawn(drawn, plan))
    check_closed(layout.areas_m2, ground.outline.area)
    return layout


def _drawn(plan: Plan, sections: list[Section], ground: Ground) -> Drawn:
    """Draw strips along a line, in rings, in blocks, or straight over the whole field."""
    if plan.direction.along is not None:
        lines = _read_lines(plan, plan.direction.along, None, ground)
        return draw_along(plan, sections[0], ground, lines, plan.direction.along)
    if plan.direction.pivot is not None:
        return draw_rings(plan, sections[0], ground)
    if plan.blocks == "suggest":
        blocks, notices = suggest_blocks(plan, sections[0], ground)
        return replace(draw_blocks(plan, sections, ground, blocks), notices=notices)
    if plan.blocks:
        asked = [(b, _read_lines(plan, b.file, b.where, ground)) for b in plan.blocks]
        blocks = split_blocks(plan, ground, block_parts(plan, ground.outline, asked))
        return draw_blocks(plan, sections, ground, blocks)
    return draw(plan, sections, ground)


def _read_lines(plan: Plan, file: str, where: str | None, ground: Ground) -> list[shapely.Geometry]:
    crs = None if plan.field is None else plan.field.crs
    shapes = read_shapes(plan.path.parent / file, crs=crs, where=where, any_kind=True)
    return place_lines(shapes, ground.plane)


def read_ground(plan: Plan) -> Ground:
    """Read a plan's boundary and obstacles, and put them on the local plane; errors as `lay`."""
    field = plan.field
    if field is None:
        raise PlanError(
            plan.path.name, ['field: is missing; for example boundary = "north.geojson"']
        )
    folder = plan.path.parent
    boundary = read_shapes(
        folder / field.boundary, crs=field.crs, layer=field.layer, where=field.where
    )
    if field.obstacles is None:
        return locate(boundary)
    wish, path = plan.obstacles, folder / field.obstacles
    around = through = None
    if wish.through is not None:
        through = read_shapes(path, crs=field.crs, where=wish.through, any_kind=True)
    if wish.through is None or has_others(path, wish.through):
        around = read_shapes(path, crs=field.crs, but=wish.through, any_kind=True)
    return locate(boundary, around, through, wish.clearance_m)


def weigh(plan: Plan) -> Searched:
    """Search for the best layouts of a plan, beside its own heading and the farm's usual.

    Raises:
        PlanError: as `lay`; or rows along a curve, which have no heading.
        BoundaryError: as `lay`.
    """
    if plan.curved:
        raise PlanError(plan.path.name, ["direction: rows along a curve have no heading to weigh"])
    ground = read_ground(plan)
    return search_whole(plan, sections_of(plan), ground)


def fit(plan: Plan, limit_m: float | None = None) -> tuple[dict[str, list[StripFit]], list[SetFit]]:
    """Judge strip widths by crop, and give the best sets, both best first."""
    return fit_crops(plan, limit_m), fit_sets(plan, limit_m)


@dataclass(frozen=True)
class Layout:
    """A plan laid on its field; tables are made when asked.

    Attributes:
        plan: what was asked.
        ground: the field on its local plane.
        drawn: the sweep's arrays, turned so that travel runs along x.
        figures: areas, lengths and seed of each piece of strip.
    """

    plan: Plan
    ground: Ground
    drawn: Drawn
    figures: PieceFigures

    @property
    def section(self) -> Section:
        """The set."""
        return self.drawn.section

    @property
    def notices(self) -> list[str]:
        """What the user should know."""
        return [
            *self.ground.notices,
            *self.section.notices,
            *self.drawn.notices,
            *contour_warnings(self.plan, self.section),
            *self._row_grades,
            *self.season.notices,
        ]

    @property
    def _row_grades(self) -> list[str]:
        """Warnings of rows that fall too steeply, where the plan says which way the land falls."""
        slope = self.plan.slope
        if slope is None or slope.downhill_deg is None or self.plan.curved:
            return []
        grades = [grade_along_row(slope, b.frame.heading_deg) for b in self.drawn.blocks]
        warning = row_grade_warning(slope, max(grades))
        return [] if warning is None else [warning]

    @cached_property
    def areas_m2(self) -> dict[str, float]:
        """Where the field's ground goes; adds up to the field."""
        return {
            "strips": float(self.figures.area_m2.sum()),
            "headland": float(shapely.area(self.drawn.headland).sum()),
            "obstacles": float(self.ground.obstacles.area),
            "leftover": float(shapely.area(self.drawn.leftover).sum()),
        }

    @cached_property
    def accounts(self) -> dict[str, Any]:
        """What accounts.json holds."""
        first = self.drawn.blocks[0]
        return {
            "field": {
                "title": self.plan.title,
                "area_m2": float(self.ground.outline.area),
                "heading_deg": first.frame.heading_deg,
                **({} if first.choice is None else {"offset_m": first.choice.offset_m}),
                **(self._blocks if len(self.drawn.blocks) > 1 else {}),
            },
            "areas_m2": self.areas_m2,
            "crops": count_crops(self.plan, self.drawn, self.figures),
            "headland_crop": count_headland(self.plan, self.areas_m2["headland"]),
            "passes": count_passes(self.drawn),
            "notices": self.notices,
            **self._cost,
            **self.season.account,
            **self._pairs,
        }

    @cached_property
    def season(self) -> Season:
        """When each crop stands, and what stands in the way of each operation."""
        return season_of(self.plan, self.section)

    @cached_property
    def pairs(self) -> list[Judgement]:
        """How the crops suit each other, point by point."""
        headings = {block.frame.heading_deg for block in self.drawn.blocks}
        several = self.plan.curved or len(headings) > 1
        heading_deg = None if several else headings.pop()
        latitude_deg = self.ground.plane.latitude_deg
        return pairs_of(self.plan, self.section, self.season, latitude_deg, heading_deg)

    @property
    def _pairs(self) -> dict[str, Any]:
        """The same for accounts.json; empty where one crop stands alone."""
        told = [asdict(one) | {"crops": list(one.crops)} for one in self.pairs]
        return {"pairs": told} if told else {}

    @property
    def _blocks(self) -> dict[str, Any]:
        """The heading and offset of each block, and its first and last strip."""
        blocks = self.drawn.blocks
        choices = [block.choice for block in blocks if block.choice is not None]
        ends = [(int(b.strip_number.min()), int(b.strip_number.max())) for b in blocks]
        return {
            "block_headings_deg": [block.frame.heading_deg for block in blocks],
            "block_offsets_m": [choice.offset_m for choice in choices],
            "block_strips": [list(pair) for pair in ends],
        }

    @property
    def _cost(self) -> dict[str, Any]:
        """What the layout costs a year, beside the farm's usual; empty along a curve."""
        parts, usual = self.drawn.parts, self.drawn.usual
        if parts is None or usual is None:
            return {}
        beside = {"total": usual.total, "heading_deg": usual.heading_deg} if usual.laid else None
        return {
            "cost": {
                "total": sum(parts.values()),
                "parts": parts,
                "usual": beside,
                "point_rows": [asdict(each) for each in self.point_rows],
            }
        }

    @property
    def point_rows(self) -> list[PointRows]:
        """Ground worked twice for want of shutting off, by machine; none along a curve."""
        choices = [block.choice for block in self.drawn.blocks if block.choice is not None]
        totals: dict[str, PointRows] = {}
        for each in (each for choice in choices for each in choice.point_rows):
            before = totals.get(each.machine)
            totals[each.machine] = each if before is None else before + each
        return list(totals.values())

    @cached_property
    def field(self) -> Any:  # noqa: ANN401 - geopandas has no types
        """The field's outline, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.field_table(self.ground)

    @cached_property
    def strips(self) -> Any:  # noqa: ANN401 - geopandas has no types
        """Pieces of strips, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.strip_table(self.ground, self.drawn, self.figures)

    @cached_property
    def rows(self) -> Any:  # noqa: ANN401 - geopandas has no types
        """Pieces of rows, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.row_table(self.ground, self.drawn)

    @cached_property
    def headland(self) -> Any:  # noqa: ANN401 - geopandas has no types
        """The headland, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.headland_table(self.ground, self.drawn)

    @cached_property
    def passes(self) -> Any:  # noqa: ANN401 - geopandas has no types
        """Machine passes, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.pass_table(self.ground, self.drawn)

    @cached_property
    def leftover(self) -> Any:  # noqa: ANN401 - geopandas has no types
        """What no strip covers, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.leftover_table(self.ground, self.drawn)
