"""Assemble the accounts, all that accounts.json holds, from what was counted, weighed and judged.

This is the one place that names its keys; crops and passes are counted in `count`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from striplay.accounts.buy import seed_to_buy
from striplay.accounts.count import PieceFigures, count_crops, count_headland, count_passes
from striplay.accounts.operations import operation_accounts, week_accounts
from striplay.accounts.overlap import planter_point_rows
from striplay.accounts.shares import CropShare
from striplay.laid import Laid
from striplay.notices import Notice
from striplay.operations.judged import Operations
from striplay.plan.models import Plan
from striplay.search.point_rows import PointRows
from striplay.season.calendar import Window
from striplay.season.conflicts import Conflict
from striplay.season.pairing import Judgement
from striplay.section.seeding import RowRate

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class LandParts:
    """What the accounts of land and seed are made of, before anything is driven.

    Attributes:
        mark: what tells this version of the plan from others.
        field_m2: area of the field.
        areas_m2: where its ground goes.
        laid: the plan laid on its ground.
        figures: figures of each piece of strip.
        twice_m2: ground planted twice, by layer of the section, (layers,).
        shares: each crop's share of the cropped land.
        row_rates: what each crop's rate comes to in its rows.
    """

    mark: str
    field_m2: float
    areas_m2: Mapping[str, float]
    laid: Laid
    figures: PieceFigures
    twice_m2: Floats
    shares: Sequence[CropShare]
    row_rates: Sequence[RowRate]


@dataclass(frozen=True)
class Parts:
    """What the accounts are made of besides land and seed.

    Attributes:
        land: the accounts of these.
        laid: the plan laid on its ground.
        operations: the season's operations, judged.
        windows: when each crop stands; empty where no crop is said to be sown.
        conflicts: what stands in the way of operations.
        pairs: how crops suit each other; empty where one crop stands alone.
        notices: what the user should know.
    """

    land: Mapping[str, Any]
    laid: Laid
    operations: Operations
    windows: Mapping[str, Window]
    conflicts: Sequence[Conflict]
    pairs: Sequence[Judgement]
    notices: Sequence[Notice]


def land_accounts(plan: Plan, parts: LandParts) -> dict[str, Any]:
    """Assemble the accounts of land and seed, which need no order of driving."""
    laid, areas_m2 = parts.laid, dict(parts.areas_m2)
    shares = _shares(parts.shares)
    return {
        "field": _field(plan, parts),
        "areas_m2": areas_m2,
        "crops": count_crops(plan, laid, parts.figures),
        "headland_crop": count_headland(plan, areas_m2["headland"]),
        "rates_in_rows": [asdict(one) for one in parts.row_rates],
        "seed_to_buy": seed_to_buy(plan, laid, parts.figures, areas_m2["headland"], parts.twice_m2),
        **({"shares": shares} if shares else {}),
    }


def assemble(plan: Plan, parts: Parts) -> dict[str, Any]:
    """Assemble the accounts of a plan laid on its field."""
    land = dict(parts.land)
    by_need = {
        "shares": land.pop("shares", None),
        "cost": _cost(plan, parts.laid),
        "machine_weeks": week_accounts(parts.operations),
        "calendar": _calendar(parts.windows, parts.conflicts),
        "pairs": _pairs(parts.pairs),
    }
    return {
        **land,
        "passes": count_passes([one.route for one in parts.operations.each]),
        "operations": operation_accounts(parts.operations),
        "operations_together": [notice.data for notice in parts.operations.together],
        "notices": [notice.data for notice in parts.notices],
        **{key: account for key, account in by_need.items() if account},
    }


def _field(plan: Plan, parts: LandParts) -> dict[str, Any]:
    """Say which field, how large, and which way its rows run and from where, block by block."""
    blocks = parts.laid.blocks
    headings_deg = [block.heading_deg for block in blocks]
    offsets_m = [block.choice.offset_m for block in blocks if block.choice is not None]
    account: dict[str, Any] = {
        "title": plan.title,
        "mark": parts.mark,
        "area_m2": parts.field_m2,
        "heading_deg": headings_deg[0],
    }
    if offsets_m:  # along a curve there is none
        account["offset_m"] = offsets_m[0]
    if len(blocks) > 1:
        numbers = [b.strip_number.tolist() for b in blocks]
        account["block_headings_deg"] = headings_deg
        account["block_offsets_m"] = offsets_m
        # a block without room for a strip has no numbers
        account["block_strips"] = [[min(own), max(own)] if own else None for own in numbers]
    return account


def _cost(plan: Plan, laid: Laid) -> dict[str, Any]:
    """Say what the layout costs a year, beside the farm's usual; empty along a curve.

    Of a trial it is that of all its strips, beside nothing: its set is not the farm's.
    """
    parts = laid.parts
    if parts is None:
        return {}
    usual = None if laid.section.usual is not None else laid.usual
    beside = None
    if usual is not None and usual.laid:
        beside = {
            "total": usual.total, "heading_deg": usual.heading_deg, "offset_m": usual.offset_m,
        }  # fmt: skip
    more = [block.choice.off_more for block in laid.blocks if block.choice is not None]
    return {
        "total": sum(parts.values()),
        "parts": parts,
        "usual": beside,
        "tenth_degree_off": None if None in more else sum(each for each in more if each),
        "point_rows": [asdict(each) for each in point_rows_of(plan, laid)],
    }


def point_rows_of(plan: Plan, laid: Laid) -> list[PointRows]:
    """Add up ground worked twice for want of shutting off, by machine; none along curves.

    Of planters it is measured from what is laid, as the seed to buy is; of sprayers, the search's.
    """
    choices = [block.choice for block in laid.blocks if block.choice is not None]
    totals: dict[str, PointRows] = {}
    for each in (each for choice in choices for each in choice.point_rows):
        before = totals.get(each.machine)
        totals[each.machine] = each if before is None else before + each
    measured = planter_point_rows(plan, laid) if totals else {}
    return [measured.get(machine, searched) for machine, searched in totals.items()]


def _calendar(windows: Mapping[str, Window], conflicts: Sequence[Conflict]) -> dict[str, Any]:
    """Say when crops stand and what is in the way; empty where no crop is said to be sown."""
    if not windows:
        return {}
    crops = {
        name: {
            "sown": window.sown.isoformat(),
            "harvested": None if window.harvested is None else window.harvested.isoformat(),
            **(
                {}
                if window.canopy_closure is None
                else {"canopy_closure": window.canopy_closure.isoformat()}
            ),
        }
        for name, window in windows.items()
    }
    told = [
        {
            "day": None if one.day is None else one.day.isoformat(),
            "crop": one.crop,
            "said": one.said,
        }
        for one in conflicts
    ]
    return {"crops": crops, "conflicts": told}


def _shares(shares: Sequence[CropShare]) -> dict[str, Any]:
    """Say each crop's share of the cropped land beside the wish; empty where one has it all."""
    if len(shares) == 1:
        return {}
    return {
        one.crop: {"area_m2": one.area_m2, "share": one.share, "wished": one.wished}
        for one in shares
    }


def _pairs(judged: Sequence[Judgement]) -> list[dict[str, Any]]:
    """Say how crops suit each other, a line a point."""
    return [asdict(one) | {"crops": list(one.crops)} for one in judged]
