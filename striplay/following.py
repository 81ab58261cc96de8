"""Make next season's plan of a layout: the same strips with the next crops in them."""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from striplay.errors import PlanError
from striplay.files.crop_table import crop_table
from striplay.files.next_plan import Tracks, next_text
from striplay.files.plan import checked
from striplay.flow import lay_on_ground
from striplay.laid_plan import Layout
from striplay.notices import Notice, gravest_first
from striplay.operations.under import named
from striplay.plan.systems import AfterHarvest
from striplay.report import rows_run
from striplay.season.after import Change, after_notices
from striplay.season.facts import facts_of
from striplay.section.sequence import rotated
from striplay.tolerances import TRACKS_M
from striplay.units import format_length


@dataclass(frozen=True)
class Following:
    """Next season's plan.

    Attributes:
        text: the plan as it is to be written.
        layout: the plan laid, on the strips of the season before.
        strips: of each strip of the set, its crop, the next one, and its width in meters.
        notices: what the user should know of the change.
    """

    text: str = field(repr=False)
    layout: Layout
    strips: tuple[tuple[str, str, float], ...]
    notices: tuple[Notice, ...]

    @property
    def lines(self) -> list[str]:
        """The change in a few lines: which way rows run, and each strip of the set."""
        plan, laid = self.layout.plan, self.layout.laid
        choice = laid.blocks[0].choice
        runs = "as stated, block by block"
        if plan.curved or (choice is not None and len(laid.blocks) == 1):
            at = (
                {}
                if choice is None
                else {"heading_deg": choice.heading_deg, "offset_m": choice.offset_m}
            )
            runs = rows_run(plan, at)
        lines = [f"{plan.title}: next season on the same strips, {runs}"]
        for number, (crop, other, width_m) in enumerate(self.strips, start=1):
            wide = format_length(width_m, plan.units)
            change = f"{crop} again" if crop == other else f"{other} after {crop}"
            lines.append(f"  strip {number} of the set, {wide}: {change}")
        return lines


def next_plan(layout: Layout, path: Path, cover: str | None = None) -> Following:
    """Make next season's plan of a layout.

    Args:
        layout: this season's, of a plan that was read from a file.
        path: where the plan is to stand.
        cover: crop or mixture to sow after the harvest of all strips that are off by then.

    Raises:
        PlanError: the next crops' machines do not fit the strips, blocks whose headings are to be
            chosen anew, strips that would not lie where they do, or a crop that can't be sown
            after any.
    """
    plan = layout.plan
    changed = rotated(plan, layout.section)
    more, told = _sown_after(layout, cover)
    text = next_text(plan, changed, _tracks(layout), path, more)
    after = lay_on_ground(checked(tomllib.loads(text), path), layout.ground)
    _check_tracks(layout, after)
    if plan.season.numbers is not None or _renumbered(layout, after):
        text = next_text(plan, changed, _tracks(layout), path, more, _carried(layout))
        after = lay_on_ground(checked(tomllib.loads(text), path), layout.ground)
    pairs = list(zip(layout.section.strips, after.section.strips, strict=True))
    return Following(
        text,
        after,
        tuple((one.crop, other.crop, one.width_m) for one, other in pairs),
        tuple(gravest_first([*told, *_notices(layout, after), *after.season.notices])),
    )


def _sown_after(layout: Layout, cover: str | None) -> tuple[tuple[AfterHarvest, ...], list[Notice]]:
    """Say after which of the set's crops another is sown, and of the others why it is not.

    Days move on alike, so this season's tell which crops are off by its sowing.

    Raises:
        PlanError: it is not in the plan, or no crop is off by then.
    """
    plan, windows = layout.plan, layout.season.windows
    if cover is None:
        return (), []
    if cover not in plan.crops:
        said = (
            f"crops.{cover}: is not in the plan; --after needs it there with planter, rate, sown, "
            'harvested and, for a cover crop, harvester = "none"'
        )
        raise PlanError(plan.path.name, [said])
    if cover not in windows:
        said = f"crops.{cover}.sown: is missing; --after needs the day it is sown, this season's"
        raise PlanError(plan.path.name, [said])
    sown, more, why = windows[cover].sown, [], []
    besides = {layer.host for layer in layout.section.layers if layer.follows}
    for label in layout.section.plain.labels:
        off = windows[label].harvested if label in windows else None
        if label in besides:
            why.append(f"{label}, which another crop follows already")
        elif off is None:
            why.append(f"{label}, whose harvest is not said")
        elif off > sown:
            why.append(f"{label}, which stands until {off.isoformat()}")
        else:
            more.append(AfterHarvest(crop=cover, after=label))
    left = f"{cover}, sown {sown.isoformat()}, does not follow {'; nor '.join(why)} (this season)"
    if not more:
        raise PlanError(plan.path.name, [f"crops.{cover}.sown: {left}"])
    return tuple(more), [Notice("season", "mind", None, left)] if why else []


def _tracks(layout: Layout) -> Tracks | None:
    """Give the heading and offset laid; None where the plan itself leaves no other.

    Raises:
        PlanError: several blocks, of which the plan leaves some to be chosen.
    """
    plan, blocks = layout.plan, layout.laid.blocks
    if plan.curved:
        return None
    if plan.blocks:
        stated = plan.blocks != "suggest" and plan.direction.offset_m != "best"
        if stated and all(block.searched is None for block in blocks):
            return None
        laid = ", ".join(
            f"block {number} {block.heading_deg:g} degrees"
            for number, block in enumerate(blocks, start=1)
        )
        said = (
            "blocks: their headings or offsets would be chosen anew, and no strip would lie where "
            f"it does; state a heading in each [[blocks]] table (laid: {laid}) and no offset = "
            '"best", and lay that first'
        )
        raise PlanError(plan.path.name, [said])
    choice = blocks[0].choice
    assert choice is not None  # noqa: S101 - rows are straight
    return choice.heading_deg, choice.offset_m


def _check_tracks(before: Layout, after: Layout) -> None:
    """Check that every strip has its edges where they were.

    Raises:
        PlanError: one has not.
    """
    for one, other in zip(before.laid.blocks, after.laid.blocks, strict=True):
        for edge in ("low_m", "high_m"):
            edges = [getattr(block.across, edge) for block in (one, other)]
            alike = len(edges[0]) == len(edges[1]) and one.heading_deg == other.heading_deg
            if not alike or float(np.abs(edges[0] - edges[1]).max(initial=0.0)) > TRACKS_M:
                said = (
                    "headland: the next crops' machines give it another width, so that strips "
                    'would move; state its width, such as width = "60 ft", and lay that first'
                )
                raise PlanError(before.plan.path.name, [said])


def _notices(before: Layout, after: Layout) -> Iterator[Notice]:
    """Say what next season asks for, crop after crop, and what else changes."""
    plan, table = after.plan, crop_table()
    facts = {name: facts_of(name, table, crop) for name, crop in plan.crops.items()}
    first = after.section.before_harvest()
    changes = [
        Change(strip.crop, before.section.crops_of(index), first.crops_of(index))
        for index, strip in enumerate(before.section.strips)
    ]
    spans = before.season.spans, after.season.spans
    yield from after_notices(list(dict.fromkeys(changes)), facts, spans, plan.operations)
    edge = plan.headland_crop
    if edge is not None:
        text = f"headland: {edge} again; crop under [headland] says another"
        yield Notice("season", "know", None, text)
    if plan.weather is not None:
        text = f"[weather] file is still {plan.weather.file}, of this season's days"
        yield Notice("weather", "know", None, text)
    yield from _numbered_on(before, after)


def _renumbered(before: Layout, after: Layout) -> bool:
    """Tell whether a strip would have another number next season on the same ground."""
    own, other = _numbers(before), _numbers(after)
    return any(own[place] != other[place] for place in own.keys() & other.keys()) or any(
        number in {*own.values()} for place, number in other.items() if place not in own
    )


def _carried(layout: Layout) -> list[list[int]]:
    """Give the number of each place across, block by block; 0 where none was ever planted."""
    own = _numbers(layout)
    return [
        [
            own.get((index, place), 0 if block.numbers is None else block.numbers[place])
            for place in range(len(block.across.kind))
        ]
        for index, block in enumerate(layout.laid.blocks)
    ]


def _numbered_on(before: Layout, after: Layout) -> Iterator[Notice]:
    """Say which strips come or go, all others with the numbers they have."""
    own, other = _numbers(before), _numbers(after)
    if own.keys() == other.keys():
        return
    told = [
        f"{named(sorted({numbers[place] for place in places}), 'strips')} {what}"
        for places, numbers, what in (
            (own.keys() - other.keys(), own, "not planted next season"),
            (other.keys() - own.keys(), other, "planted next season and not this one"),
        )
        if places
    ]
    text = (
        f"every strip keeps its number; {'; '.join(told)}: of one crop some at the field's sides "
        "are too narrow, or have rows too short, and join the headland or are left over"
    )
    yield Notice("passes", "know", None, text)


def _numbers(layout: Layout) -> dict[tuple[int, int], int]:
    """Give the number of each strip that is planted, by its block and its place across it."""
    return {
        (index, place): number
        for index, block in enumerate(layout.laid.blocks)
        for place, number in zip(
            block.pieces.strips.strip.tolist(), block.strip_number.tolist(), strict=True
        )
    }
