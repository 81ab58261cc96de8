"""Say how grounds lie at headings: what bounds of their cost are reckoned from."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.geometry.fold import Profile
from striplay.geometry.jumps import Jumps, jumps_of
from striplay.plan.models import Plan
from striplay.search.cost import on_lines, preferences, profiles_of
from striplay.search.prices import Prices
from striplay.search.sides import Sides
from striplay.search.turned import LandToWeigh, extents, turned

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Lies:
    """Grounds at headings.

    Attributes:
        land: what is planted, by level from where it begins.
        over: what machines run over, likewise; the same one where that is the same.
        jumps: what changes at the levels of `land`.
        ran: at those of `over`.
        alike: what each heading costs whatever the offset, (n,).
        headland_m2: of the headland, (n,).
        sure: whether there is so much land across that it is not bare by its sides alone, (n,).
    """

    land: Profile
    over: Profile
    jumps: Jumps
    ran: Jumps
    alike: Floats
    headland_m2: Floats
    sure: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        """Count the grounds."""
        return len(self.alike)

    def some(self, which: Integers) -> "Lies":
        """Give some of them, by number."""
        land, jumps = self.land.some(which), self.jumps.some(which)
        apart = self.over is not self.land
        return Lies(
            land,
            self.over.some(which) if apart else land,
            jumps,
            self.ran.some(which) if apart else jumps,
            self.alike[which],
            self.headland_m2[which],
            self.sure[which],
        )


def lies_of(
    plan: Plan,
    prices: Prices,
    sides: Sides,
    grounds: Sequence[LandToWeigh],
    headings_deg: Sequence[float],
) -> Lies:
    """Turn grounds by headings, and see how they lie.

    Args:
        plan: costs and wishes.
        prices: of the set.
        sides: of the set.
        grounds: at each heading.
        headings_deg: degrees clockwise from true north.
    """
    ways = turned(plan, grounds, headings_deg)
    land, over = profiles_of(ways, ways.bottom_m)
    alike = on_lines(prices, land, over).sum(axis=0) + ways.short_m2 * plan.cost.land_per_m2
    alike += [ground.headland + ground.bare for ground in grounds]
    each_way = zip(headings_deg, grounds, strict=True)
    alike += [preferences(plan, *one) for one in each_way]
    low_m, high_m = extents(ways.planted, len(ways))
    jumps = jumps_of(land, prices.step_m)
    return Lies(
        land,
        over,
        jumps,
        jumps if over is land else jumps_of(over, prices.step_m),
        alike,
        np.array([ground.headland_m2 for ground in grounds]),
        (high_m - low_m) / prices.step_m > sides.surely,
    )


def together(lies: Sequence[Lies]) -> Lies:
    """Put several together, in order."""
    if len(lies) == 1:
        return lies[0]
    land, jumps = Profile.joined([one.land for one in lies]), Jumps.joined([o.jumps for o in lies])
    apart = any(one.over is not one.land for one in lies)
    return Lies(
        land,
        Profile.joined([one.over for one in lies]) if apart else land,
        jumps,
        Jumps.joined([one.ran for one in lies]) if apart else jumps,
        *(
            np.concatenate([getattr(one, name) for one in lies])
            for name in ("alike", "headland_m2", "sure")
        ),
    )
