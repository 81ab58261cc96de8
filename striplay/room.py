"""Say why no strip can be laid, and which change of the plan would make room for one."""

from bisect import bisect_left
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from striplay.errors import NoStripError
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.section.strips import narrowest_m
from striplay.units import degrees, format_length, format_typed

SHORTER = (0.5, 0.25)
"""Parts of `shortest`, `narrowest` and a headland's width that are tried (our choice)."""


def no_strip(plan: Plan, section: Section, *, land: bool, block: int = 0) -> NoStripError:
    """Say that no strip can be laid.

    Args:
        plan: what was asked.
        section: the set.
        land: whether the headland leaves any land.
        block: the number of the block without a strip; 0 where it is the whole field.
    """
    name = plan.field.boundary if plan.field else plan.title
    width = format_length(plan.headland_width_m, plan.units)
    if not land and block:
        said = f"blocks: the headland of {width} leaves no land in block {block}"
        return NoStripError(plan.path.name, f"{said}; cut the field elsewhere")
    if not land:
        return NoStripError(name, f"a headland of {width} leaves no land inside it")
    where = f" in block {block}" if block else ""
    if not plan.curved and plan.direction.heading != "best" and not block:
        where += f" at a heading of {degrees(float(plan.direction.heading))} degrees"
    if plan.headland_width_m:
        where += f" inside a headland of {width}"
    longest = format_length(plan.direction.shortest_m, plan.units)
    reason = f"a row is at least {longest} long (direction.shortest)"
    least_m = float(narrowest_m(plan, section).min())
    if least_m:
        reason += f", a strip {format_length(least_m, plan.units)} wide (direction.narrowest)"
    elif any(one.strip is None for one in section.passes):
        reason += ", a planter pass has half its rows on land"
    return NoStripError(name, f"no strip can be laid{where}: {reason}, and none fits")


def with_cures(plan: Plan, error: NoStripError, lays: Callable[[Plan], bool]) -> NoStripError:
    """Add to a refusal which changes of the plan would do, each alone.

    Args:
        plan: what was asked.
        error: why it can't be done.
        lays: tells whether a plan gives a strip.
    """
    found = [
        changes[first].said
        for changes in _changes(plan)
        if (first := bisect_left(changes, x=True, key=lambda one: lays(one.plan))) < len(changes)
    ]
    if len(found) > 1:
        cure = f"any of these would do: {'; '.join(found)}"
    elif found:
        cure = f"this would do: {found[0]}"
    else:
        tried = "narrower headland, shorter row, narrower strip" if plan.headland_width_m else (
            "shorter row, narrower strip"
        )  # fmt: skip
        cure = f"no {tried} or other heading would do alone; narrower machines may"
    if plan.field is not None and plan.field.where is not None:
        cure += f'; does where = "{plan.field.where}" choose the right field?'
    return NoStripError(error.source, f"{error.reason}; {cure}")


@dataclass(frozen=True)
class _Change:
    """A changed plan, and what was changed, as it is written in the plan's file."""

    said: str
    plan: Plan


def _changes(plan: Plan) -> Iterator[list[_Change]]:
    """Give changes of one kind together, the slightest first.

    Each leaves more ground than the one before, or asks for less of it: so the slightest that does
    is found by halving, in eleven layouts where there are 2,000 passes to choose from.
    """
    headland, direction = plan.headland, plan.direction
    if headland.where != "none" and headland.passes is not None:
        fewer = range(headland.passes - 1, 0, -1)
        yield [_headland(plan, f"passes = {count}", passes=count) for count in fewer]
    elif headland.where != "none" and headland.width_m is not None:
        yield [
            _headland(plan, f'width = "{_typed(plan, width_m)}"', width_m=width_m)
            for width_m in (part * headland.width_m for part in SHORTER)
        ]
    if headland.where == "around" and not plan.curved:
        yield [_headland(plan, 'where = "ends"', where="ends")]
    if headland.where != "none":
        said = 'where = "none" (where machines can turn beyond the field)'
        yield [_headland(plan, said, where="none")]
    for key in ("shortest", "narrowest"):
        value_m = getattr(direction, f"{key}_m")
        if key == "narrowest" and value_m is None and plan.row_set is None:
            value_m = min(plan.planter(wish.crop).width_m for wish in plan.strips) / 2
        if value_m:
            yield [
                _direction(plan, f'{key} = "{_typed(plan, part * value_m)}"',
                           **{f"{key}_m": part * value_m})
                for part in SHORTER
            ]  # fmt: skip
    if not plan.curved and not plan.blocks and direction.heading != "best":
        if direction.offset_m != "best":
            yield [_direction(plan, 'offset = "best"', offset_m="best")]
        yield [_direction(plan, 'heading = "best"', heading="best", offset_m="best")]


def _typed(plan: Plan, length_m: float) -> str:
    return format_typed(length_m, plan.units)


def _headland(plan: Plan, said: str, **keys: object) -> _Change:
    changed = plan.headland.model_copy(update=keys)
    return _Change(f"[headland] {said}", plan.model_copy(update={"headland": changed}))


def _direction(plan: Plan, said: str, **keys: object) -> _Change:
    changed = plan.direction.model_copy(update=keys)
    return _Change(f"[direction] {said}", plan.model_copy(update={"direction": changed}))
