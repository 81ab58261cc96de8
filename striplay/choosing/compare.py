"""Lay several plans and hold them side by side; one that can't be laid keeps its place."""

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from pathlib import Path
from typing import Any

import shapely

from striplay.economics.edges import Estimate
from striplay.errors import AccountsError, PassError, PlanError, StriplayError
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.geometry import overlay
from striplay.ground import Ground
from striplay.laid_plan import Layout
from striplay.notices import few
from striplay.operations.uncounted import harvests_uncounted, not_counted, uncounted
from striplay.paying import margin_of
from striplay.plan.models import Plan
from striplay.tolerances import NEAR_DEG, SAME_FIELD

ANSWERS = ("yes", "at a cost", "no")
"""Whether an operation can be done, the best first."""
_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Side:
    """One plan among those held side by side.

    Attributes:
        label: what it is called: its title, or its file where titles are alike.
        file: the plan's file.
        layout: the plan laid; None where it can't be.
        reason: why it can't; empty where it is laid.
        margin: what it leaves, with edges at their least, middle and most; None where not known.
        asked: what is missing to know it, by key.
    """

    label: str
    file: str
    layout: Layout | None
    reason: str = ""
    margin: Estimate | None = None
    asked: tuple[str, ...] = ()

    @property
    def accounts(self) -> dict[str, Any]:
        """What accounts.json would hold; empty where it is not laid."""
        return {} if self.layout is None else self.layout.accounts

    @property
    def land(self) -> dict[str, Any]:
        """What of them is of land and seed, for which nothing is driven; empty likewise."""
        return {} if self.layout is None else self.layout.land_accounts

    @property
    def operations(self) -> list[dict[str, Any]]:
        """The accounts of its operations."""
        return list(self.accounts.get("operations", []))

    @property
    def passes(self) -> int:
        """How many passes its operations take."""
        return sum(one["passes"] for one in self.operations)

    @property
    def hours(self) -> float:
        """How long they take."""
        return float(sum(one["hours"] for one in self.operations))

    @property
    def verdicts(self) -> dict[str, int]:
        """How many of them can be done, at a cost, or not."""
        said = [one["verdict"] for one in self.operations]
        return {answer: said.count(answer) for answer in ANSWERS}

    @property
    def cost(self) -> float | None:
        """What its layout costs a year; None along a curve or at a heading stated."""
        parts = None if self.layout is None else self.layout.laid.parts
        return None if parts is None else sum(parts.values())

    @property
    def cost_uncounted(self) -> tuple[str, ...]:
        """What of its season that leaves out, in words; nothing is driven to know it."""
        layout = self.layout
        return () if layout is None else harvests_uncounted(layout.plan, layout.section)

    @property
    def uncounted(self) -> tuple[str, ...]:
        """What of its season is in neither passes, hours nor margin, in words."""
        if self.layout is None:
            return ()
        jobs = (one.job for one in self.layout.operations.each)
        return uncounted(self.layout.plan, self.layout.section, jobs)


@dataclass(frozen=True)
class Comparison:
    """Plans side by side, in the order given."""

    sides: tuple[Side, ...]

    @property
    def laid(self) -> list[Layout]:
        """The layouts of those that can be laid."""
        return [side.layout for side in self.sides if side.layout is not None]

    @property
    def crops(self) -> list[str]:
        """The crops and mixtures of all of them, in the order met."""
        counted = (side.land.get("crops", {}) for side in self.sides)
        return list(dict.fromkeys(crop for crops in counted for crop in crops))

    @property
    def seeds(self) -> list[str]:
        """The crops whose seed any of them buys, likewise."""
        bought = (side.land.get("seed_to_buy", {}) for side in self.sides)
        return list(dict.fromkeys(crop for seed in bought for crop in seed))

    @cached_property
    def one_field(self) -> bool:
        """Whether all that are laid lie on the same ground."""
        grounds = [layout.ground for layout in self.laid]
        return all(same_field(grounds[0], other) for other in grounds[1:])

    @property
    def told(self) -> list[str]:
        """What keeps figures from being held against each other; different fields come first."""
        found = []
        if not self.one_field:
            found.append(
                "these plans are of different fields: hold figures by area against each other, "
                "not totals"
            )
        found += self._uncounted
        plans = [layout.plan for layout in self.laid]
        paid = [side.layout.plan for side in self.sides if side.layout and side.margin]
        unlike = list(dict.fromkeys(
            crop for one, other in combinations(paid, 2) for crop in _unlike(one, other)
        ))  # fmt: skip
        if unlike:
            found.append(
                f"yields, prices or costs of {', '.join(unlike)} differ between the plans, and "
                "margins with them"
            )
        if any(one.economics != paid[0].economics or one.edges != paid[0].edges
               for one in paid[1:]):  # fmt: skip
            found.append("[economics] or [[edges]] differ between the plans, and margins with them")
        costs = {side.cost is not None for side in self.sides if side.layout is not None}
        if any(one.cost != plans[0].cost for one in plans[1:]):
            found.append("[cost] differs between the plans, and the cost a year with it")
        if len(costs) > 1:
            found.append('a plan has a cost a year only with heading = "best"')
        if any(_shares_ground(layout) for layout in self.laid):
            found.append("ground that crops share counts for each of them")
        return found

    @property
    def _uncounted(self) -> list[str]:
        """What is not counted in the figures of each plan; of those alike once."""
        laid = [side for side in self.sides if side.layout is not None]
        alike: dict[tuple[str, ...], list[Side]] = {}
        for side in laid:
            if side.uncounted:
                alike.setdefault(side.uncounted, []).append(side)
        found = []
        for what, those in alike.items():
            figures = ["passes", "hours"]
            figures += ["cost a year"] if any(side.cost is not None for side in those) else []
            figures += ["margin"] if any(side.margin is not None for side in those) else []
            whose = "all plans" if len(those) == len(laid) else few([one.label for one in those])
            found.append(f"{few(figures)} of {whose}, {not_counted(what)}")
        return found


MONEY_KEYS = ("yield_rate", "price", "moisture", "base_moisture", "drying", "seed_price",
              "other_costs_per_m2", "bushel_kg")  # fmt: skip
"""What of a crop its margin goes by, beside how it is sown."""


def _unlike(one: Plan, other: Plan) -> list[str]:
    """Name crops of two plans whose money is not told alike."""
    both = [crop for crop in one.crops if crop in other.crops]
    return [
        crop for crop in both
        if any(getattr(one.crops[crop], key) != getattr(other.crops[crop], key)
               for key in MONEY_KEYS)
    ]  # fmt: skip


def _shares_ground(layout: Layout) -> bool:
    """Tell whether crops stand between the rows of others, or in one row."""
    return any(layer.grown != "own" for layer in layout.section.layers)


def same_field(one: Ground, other: Ground) -> bool:
    """Tell whether two plans' ground is one field: nearly all of each lies on the other."""
    near = (
        abs(one.plane.longitude_deg - other.plane.longitude_deg) < NEAR_DEG
        and abs(one.plane.latitude_deg - other.plane.latitude_deg) < NEAR_DEG
    )
    if not near:
        return False
    lonlat = other.plane.geometries_to_lonlat(other.outline)
    beside = shapely.transform(lonlat, one.plane.to_plane)
    shared_m2 = overlay.intersection(one.outline, beside).area
    return bool(shared_m2 >= SAME_FIELD * max(one.outline.area, beside.area))


def compare(files: Sequence[str | Path]) -> Comparison:
    """Lay plans, and hold them side by side.

    Args:
        files: the plan files, in the order to show them.

    Raises:
        StriplayError: one file given twice, or no plan that can be laid; with each one's reason.
    """
    paths = [Path(file) for file in files]
    _check_once(paths)
    read = [_read(path) for path in paths]
    labels = _labels(paths, read)
    sides = []
    for number, (path, plan, label) in enumerate(zip(paths, read, labels, strict=True), start=1):
        _log.info("laying %s, plan %d of %d", path.name, number, len(paths))
        sides.append(_side(path, plan, label))
    if all(side.layout is None for side in sides):
        reasons = [f"  {line}" for side in sides for line in side.reason.splitlines()]
        raise StriplayError("\n".join([f"compare: none of {len(sides)} plans can be laid",
                                       *reasons]))  # fmt: skip
    return Comparison(tuple(sides))


def _check_once(paths: Sequence[Path]) -> None:
    """Check that no plan is given twice."""
    seen: set[Path] = set()
    for path in paths:
        if path.resolve() in seen:
            raise StriplayError(f"compare: {path} is given twice; name each plan once")
        seen.add(path.resolve())


def _read(path: Path) -> Plan | StriplayError:
    """Read a plan, or say why it can't be."""
    try:
        return read_plan(path)
    except StriplayError as error:
        return error


def _labels(paths: Sequence[Path], read: Sequence[Plan | StriplayError]) -> list[str]:
    """Call plans by their titles; by their files where titles are alike, or by all of the path."""
    titles = [one.title if isinstance(one, Plan) else path.name
              for path, one in zip(paths, read, strict=True)]  # fmt: skip
    ways = (titles, [path.name for path in paths], [str(path) for path in paths])
    return next((way for way in ways if len(set(way)) == len(way)), ways[-1])


def _side(path: Path, plan: Plan | StriplayError, label: str) -> Side:
    """Lay a plan as one among others; a refusal is its reason, a fault of striplay ends all."""
    if isinstance(plan, StriplayError):
        return Side(label, str(path), None, str(plan))
    try:
        layout = lay(plan)
        layout.accounts  # noqa: B018 - all of it is reckoned here, or refused
    except (AccountsError, PassError):
        raise
    except StriplayError as error:
        return Side(label, str(path), None, str(error))
    try:
        return Side(label, str(path), layout, margin=margin_of(layout))
    except PlanError as error:
        return Side(label, str(path), layout, asked=error.faults)
