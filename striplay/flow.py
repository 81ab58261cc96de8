"""Run the flow from a plan to a layout, a line a stage."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely

from striplay.accounts.count import check_closed, count_laid
from striplay.economics.edges import edge_table
from striplay.economics.widths import best_section, shares_alike
from striplay.economics.worth import with_land_worth, worths_of
from striplay.errors import NoStripError, PlanError, StriplayError
from striplay.files.edge_table import published_edges
from striplay.files.plan import files_outside
from striplay.files.shapes import read_obstacles, read_shapes
from striplay.files.weather import ReadWeather
from striplay.geometry.directions import HALF_TURN_DEG
from striplay.ground import Ground, Shapes, locate, place_lines
from striplay.growing import Season, season_of
from striplay.kept import Kept
from striplay.laid import Laid, lay_along, lay_straight, search_whole
from striplay.laid_plan import Layout
from striplay.layout.block_parts import block_parts
from striplay.layout.blocks import one_block, split_blocks
from striplay.layout.course import along_key_line, round_pivot
from striplay.layout.size import check_size
from striplay.plan.models import Plan
from striplay.room import with_cures
from striplay.search.headings import Searched
from striplay.search.land import longest_edge_deg
from striplay.search.suggest import suggest_blocks
from striplay.section.fit import StripFit
from striplay.section.section import Section
from striplay.section.sets import SetFit, fit_crops, fit_sets
from striplay.section.systems import sections_of

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

Floats = npt.NDArray[np.float64]


def lay(plan: Plan, boundary: "GeoDataFrame | None" = None) -> Layout:
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


def lay_on_ground(
    plan: Plan, ground: Ground, *, weather: ReadWeather | None = None, kept: Kept | None = None
) -> Layout:
    """Lay a plan's strips on ground that is read already; errors as `lay`.

    Args:
        plan: what is asked.
        ground: the field.
        weather: what the plan's file of it holds; read anew where None.
        kept: where what a plan is found to be whatever its field is kept, for who lays it on many;
            with the ground where None.
    """
    kept = ground.kept if kept is None else kept
    priced, section = settled(plan, ground, _sections_in(kept, plan))
    check_size(plan, [section], ground)
    with _cures(priced, ground):
        laid = _laid(priced, section, ground)
    south = ground.plane.latitude_deg < 0
    season = _season_in(kept, plan, laid.section, weather, south=south)
    layout = Layout(plan, ground, laid, season, count_laid(laid, plan))
    check_closed(layout.areas_m2, ground.outline.area)
    return layout


def _sections_in(kept: Kept, plan: Plan) -> list[Section]:
    """Give the sets of a plan as `sections_of`, found once for all headings."""
    still = plan.whichever_way
    return kept.once("sections", still, lambda: sections_of(still))


def _season_in(
    kept: Kept, plan: Plan, section: Section, weather: ReadWeather | None, *, south: bool
) -> Season:
    """Give a plan's season as `season_of`, found once for all headings."""
    if plan.weather is not None and weather is None:
        return season_of(plan, section, south=south)
    still = plan.whichever_way
    found = kept.once(
        "season",
        (still, section, south),
        lambda: season_of(still, section, south=south, weather=weather),
    )
    return replace(found, plan=plan)


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
    return place_lines(shapes, ground.plane, plan.units)


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
