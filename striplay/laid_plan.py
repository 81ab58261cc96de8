"""Hold a plan laid on its field, and show it as tables: the public face of a layout."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import shapely

from striplay.accounts.assemble import (
    LandParts,
    Parts,
    assemble,
    land_accounts,
    point_rows_of,
)
from striplay.accounts.count import PieceFigures
from striplay.accounts.overlap import planted_twice_m2
from striplay.accounts.shares import CropShare, crop_shares, share_notices
from striplay.doubts import doubts
from striplay.drive import drive, route, swept_blocks
from striplay.files.plan import contents_beside
from striplay.ground import Ground
from striplay.growing import Season, pairs_of
from striplay.laid import Laid
from striplay.mark import mark_of
from striplay.notebook import layout_html
from striplay.notices import Notice, gravest_first
from striplay.operations.judged import Operations, Setting, Worked, judge, work
from striplay.operations.passes import Passes
from striplay.operations.route import Route
from striplay.operations.told import pass_notices
from striplay.plan.models import Plan
from striplay.plausible.check import unusual
from striplay.report import layout_summary
from striplay.search.point_rows import PointRows
from striplay.season.pairing import Judgement
from striplay.section.contour import (
    contour_warnings,
    greatest_grade,
    rollover_caution,
    row_grade_warning,
)
from striplay.section.section import Section
from striplay.section.seeding import RowRate, row_rates, wide_row_notices
from striplay.section.sequence import set_notices
from striplay.worksheet import Worksheet, worksheets

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, repr=False)
class Layout:
    """A plan laid on its field; tables are made when asked.

    Attributes:
        plan: what was asked.
        ground: the field on its local plane.
        laid: strips and rows, block by block.
        season: when each crop stands, and what stands in the way of each operation.
        figures: areas, lengths and seed of each piece of strip.
    """

    plan: Plan
    ground: Ground
    laid: Laid
    season: Season
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
    def side_by_side(self) -> tuple[Passes, ...]:
        """Every machine's passes, each work's once, side by side; driven when asked.

        Raises:
            PassError: a pass that would meet an obstacle.
        """
        return tuple(drive(self.plan, self.laid, self.ground))

    @cached_property
    def routes(self) -> tuple[Route, ...]:
        """Every job of the season as it is driven, from gate to gate; ordered when asked."""
        laid, driven = self.laid, self.side_by_side
        return tuple(route(self.plan, laid, self.ground, driven, self.season.days))

    @cached_property
    def _setting(self) -> Setting:
        """Where and when operations are done."""
        return Setting(
            section=self.section,
            blocks=swept_blocks(self.plan, self.laid),
            headland=self.laid.headland,
            ground=self.ground,
            days=self.season.days,
            conflicts=self.season.conflicts,
            standing=self.season.spans,
        )

    @cached_property
    def worked(self) -> tuple[Worked, ...]:
        """The season's operations, each pass with what is told of it; not yet judged."""
        return work(self.plan, self.routes, self._setting)

    @cached_property
    def operations(self) -> Operations:
        """The season's operations, each judged."""
        reaches = [one for one in self._pass_notices if one.machines]
        return judge(self.plan, self.worked, self._setting, reaches)

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
        of_operations = (one for one in self.operations.notices if one.severity != "know")
        return gravest_first([*self._with(self._pass_notices), *of_operations])

    @cached_property
    def notices_as_laid(self) -> list[Notice]:
        """The same of what is known before any machine's passes are."""
        return gravest_first(self._with([]))

    @cached_property
    def notices_as_passed(self) -> list[Notice]:
        """The same of what is known once passes lie side by side, before they are ordered."""
        return gravest_first(self._with(self._pass_notices))

    def _with(self, of_passes: Sequence[Notice]) -> list[Notice]:
        return [
            *rollover_caution(self.plan.slope),
            *doubts(self.plan, self.laid, self.areas_m2, self.ground.outline.area),
            *self.ground.notices,
            *unusual(
                self.plan,
                self.section,
                self.season.facts,
                self.season.windows,
                self.ground.plane.latitude_deg,
            ),
            *self.section.notices,
            *self.laid.notices,
            *set_notices(self.plan, self.section.strips),
            *share_notices(self.plan, self.section, self.shares),
            *wide_row_notices(self.plan, self.row_rates),
            *of_passes,
            *contour_warnings(self.plan, self.section),
            *self._row_grades,
            *self.season.untold,
        ]

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
    def land_accounts(self) -> dict[str, Any]:
        """What accounts.json holds of land and seed, for which nothing need be driven."""
        parts = LandParts(
            mark=self.mark,
            field_m2=float(self.ground.outline.area),
            areas_m2=self.areas_m2,
            laid=self.laid,
            figures=self.figures,
            twice_m2=self.planted_twice_m2,
            shares=self.shares,
            row_rates=self.row_rates,
        )
        return land_accounts(self.plan, parts)

    @cached_property
    def accounts(self) -> dict[str, Any]:
        """What accounts.json holds."""
        parts = Parts(
            land=self.land_accounts,
            laid=self.laid,
            operations=self.operations,
            windows=self.season.windows,
            conflicts=self.season.conflicts,
            pairs=self.pairs,
            notices=self.notices,
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

        return tables.pass_table(self.ground, self.laid, self.worked)

    @property
    def passes_and_turns(self) -> "GeoDataFrame":
        """The same, with the ways between passes."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.pass_table(self.ground, self.laid, self.worked, turns=True)

    @cached_property
    def leftover(self) -> "GeoDataFrame":
        """What no strip covers, a GeoDataFrame in the local plane."""
        from striplay import tables  # noqa: PLC0415 - geopandas is heavy to load

        return tables.leftover_table(self.ground, self.laid)
