"""Run the flow from a plan to a layout, and show it as tables: the public face."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import shapely

from striplay.accounts.assemble import Parts, assemble, point_rows_of
from striplay.accounts.count import PieceFigures, check_closed, count_laid
from striplay.accounts.overlap import planted_twice_m2
from striplay.accounts.shares import CropShare, crop_shares, share_notices
from striplay.doubts import doubts
from striplay.drive import drive, route, swept_blocks
from striplay.economics.edges import edge_table
from striplay.economics.widths import best_section, shares_alike
from striplay.economics.worth import with_land_worth, worths_of
from striplay.errors import NoStripError, PlanError, StriplayError
from striplay.files.edge_table import published_edges
from striplay.files.plan import contents_beside, files_outside
from striplay.files.shapes import read_obstacles, read_shapes
from striplay.geometry.directions import HALF_TURN_DEG
from striplay.ground import Ground, Shapes, locate, place_lines
from striplay.growing import Season, pairs_of, season_of
from striplay.laid import Laid, lay_along, lay_straight, search_whole
from striplay.layout.block_parts import block_parts
from striplay.layout.blocks import one_block, split_blocks
from striplay.layout.course import along_key_line, round_pivot
from striplay.layout.size import check_size
from striplay.mark import mark_of
from striplay.notebook import layout_html
from striplay.notices import Notice, gravest_first
from striplay.operations.judged import Operations, Setting, judge
from striplay.operations.passes import Passes
from striplay.operations.route import Route
from striplay.operations.told import pass_notices
from striplay.plan.models import Plan
from striplay.plausible.check import unusual
from striplay.report import layout_summary
from striplay.room import with_cures
from striplay.search.headings import Searched
from striplay.search.land import longest_edge_deg
from striplay.search.point_rows import PointRows
from striplay.search.suggest import suggest_blocks
from striplay.season.pairing import Judgement
from striplay.section.contour import (
    contour_warnings,
    greatest_grade,
    rollover_caution,
    row_grade_warning,
)
from striplay.section.fit import StripFit
from striplay.section.section import Section
from striplay.section.seeding import RowRate, row_rates, wide_row_notices
from striplay.section.sequence import set_notices
from striplay.section.sets import SetFit, fit_crops, fit_sets
from striplay.section.systems import sections_of
from striplay.worksheet import Worksheet, worksheets

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

Floats = npt.NDArray[np.float64]


def lay(plan: Plan, boundary: "GeoDataFrame | None" = None) -> "Layout":
    """Lay a plan's strips on its field.

    Args:
        plan: what is asked.
        boundary: the field's polygons, with their coordinate reference system; goes before the
            file that the plan names, and a plan may then name none.

    Raises:
        PlanError: no field, no strips, no width that fits, or weather that can't be read.
        BoundaryError: a boundary that can't be used, or one without room for a strip.
    """
    return lay_on_ground(plan, read_ground(plan, boundary))


def lay_on_ground(plan: Plan, ground: Ground) -> "Layout":
    """Lay a plan's strips on ground that is read already; errors as `lay`."""
    priced, section = settled(plan, ground)
    check_size(plan, [section], ground)
    with _cures(priced, ground):
        laid = _laid(priced, section, ground)
    season = season_of(plan, laid.section, south=ground.plane.latitude_deg < 0)
    driven = drive(plan, laid, ground)
    layout = Layout(plan, ground, laid, season, tuple(driven), count_laid(laid, plan))
    check_closed(layout.areas_m2, ground.outline.area)
    return layout


def settled(
    plan: Plan, ground: Ground, sections: Sequence[Section] | None = None
) -> tuple[Plan, Section]:
    """Settle which of the sets that fit is laid, and what is least cost.

    It is the first; where margin is the aim the one that leaves most, of those that share land as
    the first does, at the heading stated or along the field's longest edge. The aim is then money,
    and land worth what the crops leave, if the plan does not say.

    Raises:
        PlanError: no set; where margin is the aim, yields or prices that are missing.
    """
    sections = sections_of(plan) if sections is None else sections
    if plan.cost.aim != "margin":
        return plan, sections[0]
    worths = worths_of(plan, sections[0])
    priced = with_land_worth(plan, sections[0], worths)
    alike = [one for one in sections if shares_alike(sections[0], one)]
    if len(alike) == 1 or plan.curved:
        return priced, sections[0]
    heading = plan.direction.heading
    heading_deg = longest_edge_deg(ground.outline) if heading == "best" else float(heading)
    table = edge_table(plan, published_edges())
    block = one_block(plan, ground)
    return priced, best_section(priced, alike, heading_deg, block, table, worths)


def _laid(plan: Plan, section: Section, ground: Ground) -> Laid:
    """Lay strips along a line, in rings, in blocks, or straight over the whole field."""
    if plan.direction.along is not None:
        lines = _read_lines(plan, plan.direction.along, None, ground)
        course = along_key_line(plan, ground, lines, plan.direction.along)
        return lay_along(plan, section, ground, course)
    if plan.direction.pivot is not None:
        return lay_along(plan, section, ground, round_pivot(plan, ground))
    if plan.blocks == "suggest":
        blocks, notices = suggest_blocks(plan, section, ground)
        return lay_straight(plan, section, ground, blocks, tuple(notices))
    if plan.blocks:
        asked = [(b, _read_lines(plan, b.file, b.where, ground)) for b in plan.blocks]
        blocks = split_blocks(plan, ground, block_parts(plan, ground.outline, asked))
        return lay_straight(plan, section, ground, blocks)
    return lay_straight(plan, section, ground)


@contextmanager
def _cures(plan: Plan, ground: Ground) -> Iterator[None]:
    """Say of a field without room for a strip also which changes of the plan would do."""
    try:
        yield
    except NoStripError as error:
        raise with_cures(plan, error, lambda changed: lays(changed, ground)) from None


def lays(plan: Plan, ground: Ground) -> bool:
    """Tell whether a plan gives a strip; if its heading is free, along the longest edge or across.

    Only a plan that does is told of: some that would do at another heading are not.
    """
    along_deg = longest_edge_deg(ground.outline)
    free = plan.direction.model_copy(update={"offset_m": "best"})
    for heading_deg in (along_deg, (along_deg + 90.0) % HALF_TURN_DEG):
        tried = plan
        if plan.direction.heading == "best" and not plan.curved:
            blocks = () if plan.blocks == "suggest" else plan.blocks
            at = {"heading": heading_deg}
            tried = plan.model_copy(
                update={
                    "direction": free.model_copy(update=at),
                    "blocks": tuple(
                        b.model_copy(update=at) if b.heading == "best" else b for b in blocks
                    ),
                }
            )
        try:
            _laid(tried, sections_of(tried)[0], ground)
        except StriplayError:
            continue
        return True
    return False


def _read_lines(plan: Plan, file: str, where: str | None, ground: Ground) -> list[shapely.Geometry]:
    crs = None if plan.field is None else plan.field.crs
    shapes = read_shapes(plan.path.parent / file, crs=crs, where=where, any_kind=True)
    return place_lines(shapes, ground.plane)


def read_ground(plan: Plan, boundary: "GeoDataFrame | None" = None) -> Ground:
    """Put a plan's boundary and obstacles on the local plane; arguments and errors as `lay`."""
    shapes, source = _boundary_of(plan, boundary), plan.field
    wish, around, through = plan.obstacles, None, None
    if source is not None and source.obstacles is not None:
        path = plan.path.parent / source.obstacles
        around, through = read_obstacles(path, crs=source.crs, through=wish.through)
    ground = locate(shapes, around, through, wish.clearance_m, wish.beside_m, units=plan.units)
    return replace(ground, notices=(*files_outside(plan), *ground.notices))


def latitude_deg_of(plan: Plan) -> float | None:
    """Give the latitude of a plan's field, below 0 in the south; None without a field.

    Raises:
        BoundaryError: as `lay`.
    """
    return None if plan.field is None else read_ground(plan).plane.latitude_deg


def _boundary_of(plan: Plan, boundary: "GeoDataFrame | None") -> Shapes:
    """Take the boundary that is given, else read the plan's."""
    if boundary is not None:
        from striplay.files.frames import shapes_of  # noqa: PLC0415 - geopandas is heavy to load

        return shapes_of(boundary)
    source = plan.field
    if source is None:
        raise PlanError(
            plan.path.name, ['field: is missing; for example boundary = "north.geojson"']
        )
    path = plan.path.parent / source.boundary
    return read_shapes(path, crs=source.crs, layer=source.layer, where=source.where)


def weigh(plan: Plan, boundary: "GeoDataFrame | None" = None) -> Searched:
    """Search for the best layouts of a plan, beside its own heading, the usual and other sets.

    Args:
        plan: what is asked.
        boundary: as `lay`.

    Raises:
        PlanError: as `lay`; or rows along a curve, which have no heading.
        BoundaryError: as `lay`.
    """
    if plan.curved:
        raise PlanError(plan.path.name, ["direction: rows along a curve have no heading to weigh"])
    sections, ground = sections_of(plan.without_trial), read_ground(plan, boundary)
    plan, first = settled(plan, ground, sections)
    sections = [first, *(one for one in sections if one is not first)]
    check_size(plan, sections, ground)
    with _cures(plan, ground):
        return search_whole(plan, sections, ground)


def fit(plan: Plan, limit_m: float | None = None) -> tuple[dict[str, list[StripFit]], list[SetFit]]:
    """Judge strip widths by crop, and give the best sets, both best first."""
    return fit_crops(plan, limit_m), fit_sets(plan, limit_m)


@dataclass(frozen=True, repr=False)
class Layout:
    """A plan laid on its field; tables are made when asked.

    Attributes:
        plan: what was asked.
        ground: the field on its local plane.
        laid: strips and rows, block by block.
        season: when each crop stands, and what stands in the way of each operation.
        side_by_side: every machine's passes, each work's once, side by side.
        figures: areas, lengths and seed of each piece of strip.
    """

    plan: Plan
    ground: Ground
    laid: Laid
    season: Season
    side_by_side: tuple[Passes, ...]
    figures: PieceFigures

    def __repr__(self) -> str:
        """Say in a few lines which field it is, how it is laid and what came of it."""
        return "\n".join(layout_summary(self.plan, self.accounts))

    def _repr_html_(self) -> str:
        """Show the same in a notebook, with a small map and the table of accounts."""
        crop, shapes = self.strips["crop"], self.strips.geometry
        return layout_html(
            self.plan,
            self.accounts,
            self.ground,
            headland=self.laid.headland,
            strips={name: shapes[crop == name].to_numpy() for name in self.grown},
        )

    @property
    def grown(self) -> tuple[str, ...]:
        """Crops and mixtures of strips, in the order of the set, and of the headland."""
        edge = self.plan.headland_crop
        return tuple(dict.fromkeys([*self.section.names, *([] if edge is None else [edge])]))

    @cached_property
    def routes(self) -> tuple[Route, ...]:
        """Every job of the season as it is driven, from gate to gate; ordered when asked."""
        laid, driven = self.laid, self.side_by_side
        return tuple(route(self.plan, laid, self.ground, driven, self.season.days))

    @cached_property
    def operations(self) -> Operations:
        """The season's operations, each judged."""
        setting = Setting(
            section=self.section,
            blocks=swept_blocks(self.plan, self.laid),
            headland=self.laid.headland,
            ground=self.ground,
            days=self.season.days,
            conflicts=self.season.conflicts,
            standing=self.season.spans,
            reaches=[one for one in self._pass_notices if one.machines],
        )
        return judge(self.plan, self.routes, setting)

    @cached_property
    def worksheets(self) -> tuple[Worksheet, ...]:
        """Every operation as its operator is told of it, in the order done."""
        twice_m2 = self.planted_twice_m2
        rates = self.row_rates
        return worksheets(self.plan, self.ground, self.laid, self.operations, rates, twice_m2)

    @cached_property
    def planted_twice_m2(self) -> Floats:
        """Ground planted besides its own rows', by layer of the section, (layers,)."""
        return planted_twice_m2(self.plan, self.laid)

    @cached_property
    def driven(self) -> tuple[Passes, ...]:
        """Every machine's passes, in the order of the season."""
        return tuple(passes for route in self.routes for passes in route.groups)

    @cached_property
    def mark(self) -> str:
        """Eight letters that tell this version of plan and boundary from others."""
        return mark_of(self.plan, self.ground, contents_beside(self.plan))

    @property
    def section(self) -> Section:
        """The set."""
        return self.laid.section

    @cached_property
    def notices(self) -> list[Notice]:
        """What the user should know, the gravest first, else in the order of the flow.

        Of operations what stands in their way or costs; the rest stands with each in `operations`.
        """
        judged = (one for one in self.operations.notices if one.severity != "know")
        return gravest_first([*self.undriven_notices, *judged])

    @cached_property
    def undriven_notices(self) -> list[Notice]:
        """Those of them that need no operation in its order; the rest takes most of the time."""
        season, latitude_deg = self.season, self.ground.plane.latitude_deg
        return gravest_first(
            [
                *rollover_caution(self.plan.slope),
                *doubts(self.plan, self.laid, self.areas_m2, self.ground.outline.area),
                *self.ground.notices,
                *unusual(self.plan, self.section, season.facts, season.windows, latitude_deg),
                *self.section.notices,
                *self.laid.notices,
                *set_notices(self.plan, self.section.strips),
                *share_notices(self.plan, self.section, self.shares),
                *wide_row_notices(self.plan, self.row_rates),
                *self._pass_notices,
                *contour_warnings(self.plan, self.section),
                *self._row_grades,
                *season.untold,
            ]
        )

    @cached_property
    def _pass_notices(self) -> list[Notice]:
        """What to know of where machines drive."""
        driven, headland = self.side_by_side, self.laid.headland
        return list(pass_notices(self.plan, self.section, driven, self.ground, headland))

    @cached_property
    def row_rates(self) -> tuple[RowRate, ...]:
        """What each crop's rate comes to in its rows, the headland's last."""
        planted = bool(len(self.laid.headland))
        return row_rates(self.plan, self.section, headland=planted)

    @property
    def _row_grades(self) -> list[Notice]:
        """Warnings of rows that fall too steeply, where the plan says which way the land falls."""
        slope = self.plan.slope
        if slope is None or slope.downhill_deg is None:
            return []
        found: list[tuple[float, float, str]] = []
        for block in self.laid.blocks:
            rows, number = block.pieces.rows, block.strip_number
            if not len(rows.begin):
                continue
            where = f"in strips {number.min()} to {number.max()}"
            stretches = block.path.headings(float(rows.begin.min()), float(rows.end.max()))
            for heading_deg, length_m, middle_m in zip(*stretches, strict=True):
                place = f"at {self.ground.plane.place(middle_m)}" if self.plan.curved else where
                found.append((float(heading_deg), float(length_m), place))
        if not found:
            return []
        headings_deg, lengths_m, places = zip(*found, strict=True)
        grade = greatest_grade(slope, headings_deg, lengths_m)
        several = self.plan.curved or len(self.laid.blocks) > 1
        where = places[grade.stretch] if several else ""
        warning = row_grade_warning(slope, grade.percent, where)
        return [] if warning is None else [warning]

    @cached_property
    def areas_m2(self) -> dict[str, float]:
        """Where the field's ground goes; adds up to the field."""
        return {
            "strips": float(self.figures.area_m2.sum()),
            "headland": float(shapely.area(self.laid.headland).sum()),
            "obstacles": float(self.ground.obstacles.area),
            "leftover": float(shapely.area(self.laid.leftover).sum()),
        }

    @cached_property
    def shares(self) -> list[CropShare]:
        """Each crop's share of the cropped land, headland included, beside the wish."""
        return crop_shares(self.plan, self.laid, self.figures, self.areas_m2["headland"])

    @cached_property
    def accounts(self) -> dict[str, Any]:
        """What accounts.json holds."""
        parts = Parts(
            mark=self.mark,
            field_m2=float(self.ground.outline.area),
            areas_m2=self.areas_m2,
            laid=self.laid,
            operations=self.operations,
            figures=self.figures,
            twice_m2=self.planted_twice_m2,
            shares=self.shares,
            windows=self.season.windows,
            conflicts=self.season.conflicts,
            pairs=self.pairs,
            notices=self.notices,
            row_rates=self.row_rates,
        )
        return assemble(self.plan, parts)

    @cached_property
    def pairs(self) -> list[Judgement]:
        """How the crops suit each other, point by point."""
        headings = {block.heading_deg for block in self.laid.blocks}
        several = self.plan.curved or len(headings) > 1
        heading_deg = None if several else headings.pop()
        latitude_deg = self.ground.plane.latitude_deg
        return pairs_of(self.plan, self.section, self.season, latitude_deg, heading_deg)

    @property
    def point_rows(self) -> list[PointRows]:
        """Ground worked twice for want of shutting off, by machine; none along a curve."""
        return point_rows_of(self.plan, self.laid)

    @cached_property
    def field(self) -> "GeoDataFrame":
        """The field's outline, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.field_table(self.ground)

    @cached_property
    def strips(self) -> "GeoDataFrame":
        """Pieces of strips, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.strip_table(self.ground, self.laid, self.figures)

    @cached_property
    def rows(self) -> "GeoDataFrame":
        """Pieces of rows, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.row_table(self.ground, self.laid)

    @cached_property
    def headland(self) -> "GeoDataFrame":
        """The headland, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.headland_table(self.ground, self.laid)

    @cached_property
    def passes(self) -> "GeoDataFrame":
        """Machine passes, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.pass_table(self.ground, self.laid, self.operations.each)

    @property
    def passes_and_turns(self) -> "GeoDataFrame":
        """The same, with the ways between passes."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.pass_table(self.ground, self.laid, self.operations.each, turns=True)

    @cached_property
    def leftover(self) -> "GeoDataFrame":
        """What no strip covers, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.leftover_table(self.ground, self.laid)
