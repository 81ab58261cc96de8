"""Measure each crop's share of the cropped land, the headland's crop included, beside the wish."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from striplay.accounts.count import PieceFigures
from striplay.laid import Laid
from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.section.sets import missed, share_cure


@dataclass(frozen=True, slots=True)
class CropShare:
    """A crop, or mixture, of the cropped land.

    Attributes:
        crop: its name.
        area_m2: of its strips, and of the headland where that is planted to it.
        share: of all cropped land.
        wished: the same as the plan wishes it; None where it wishes none.
    """

    crop: str
    area_m2: float
    share: float
    wished: float | None


def crop_shares(
    plan: Plan, laid: Laid, figures: PieceFigures, headland_m2: float
) -> list[CropShare]:
    """Measure the share of every crop of strips and headland; of what is wished and grown nowhere.

    What is only sown between rows, or mixed into them, has no land of its own.

    Args:
        plan: what is wished, and the headland's crop.
        laid: the strips.
        figures: of each piece of strip.
        headland_m2: area of the headland.
    """
    strips = laid.section.strips
    kind = np.concatenate([block.pieces.strips.kind for block in laid.blocks])
    strips_m2: dict[str, float] = {}
    for strip, own_m2 in zip(strips, np.bincount(kind, figures.area_m2, len(strips)), strict=True):
        strips_m2[strip.crop] = strips_m2.get(strip.crop, 0.0) + float(own_m2)
    around, wished = plan.headland_crop, plan.wished_shares
    nowhere = [crop for crop in wished if crop not in laid.section.crops]
    around_m2 = {} if around is None else {around: headland_m2}
    total_m2 = sum(strips_m2.values()) + sum(around_m2.values())
    if total_m2 == 0.0:
        return []
    area_m2 = {
        crop: strips_m2.get(crop, 0.0) + around_m2.get(crop, 0.0)
        for crop in dict.fromkeys([*strips_m2, *around_m2, *nowhere])
    }
    return [
        CropShare(crop, own_m2, own_m2 / total_m2, wished.get(crop))
        for crop, own_m2 in area_m2.items()
    ]


def share_notices(plan: Plan, section: Section, shares: Sequence[CropShare]) -> list[Notice]:
    """Say where crops miss their wished shares of the land, and what would help."""
    off = [one for one in shares if missed(one.share, one.wished)]
    if not off:
        return []
    each = ", ".join(f"{one.crop} {one.share:.0%} (wished {one.wished:.0%})" for one in off)
    around = plan.headland_crop
    cures = []
    if any(one.crop == around and one.share > (one.wished or 0.0) for one in off):
        cures.append("plant the headland to another crop")
    set_m = section.width_m
    if any(
        missed(sum(s.width_m for s in section.strips if s.crop == one.crop) / set_m, one.wished)
        for one in off
    ):
        cures.append(share_cure(plan, [strip.width_m for strip in section.strips]))
    counted = ", headland included" if around is not None else ""
    said = "; ".join([f"shares of the cropped land{counted}: {each}", *cures])
    return [Notice("fit", "mind", None, said)]
