"""List the bars of the season's picture: which crop, under what name, in which fill."""

from dataclasses import dataclass

from striplay.growing import Season
from striplay.mapbook.scene import crop_order
from striplay.mapbook.style import HEADLAND, Fill, crop_fill
from striplay.season.calendar import Window


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar.

    Attributes:
        window: when the crop, or mixture, stands.
        note: what it is besides a crop of its own strips: between another's rows, or in a mixture.
        fill: as on the maps.
        part: whether it is part of a mixture that has a bar itself.
    """

    window: Window
    note: str
    fill: Fill
    part: bool


def bars_of(season: Season) -> list[Bar]:
    """List bars in the order of the maps' colours: a mixture's parts under it, the headland last.

    Crops of the plan that stand nowhere in the field have none.
    """
    plan, settled = season.plan, season.windows
    order = tuple(settled) if season.section is None else crop_order(season.section)
    edge = plan.headland.crop if plan.headland.where != "none" else None
    between = {asked.crop: f"into {asked.into}" for asked in (*plan.relays, *plan.quick_crops)}
    labels = {strip.crop for strip in season.section.strips} if season.section else set(order)
    bars: list[Bar] = []
    shown: set[str] = set()
    for name in order:
        if name in settled and name not in shown:
            shown.add(name)
            bars.append(Bar(settled[name], between.get(name, ""), _fill(order, name), part=False))
        for part in plan.mixtures[name].parts if name in plan.mixtures else ():
            if part in settled and part not in labels and part not in shown:
                shown.add(part)
                bars.append(Bar(settled[part], f"in {name}", _fill(order, part), part=True))
    if edge is not None and edge in settled and edge not in shown:
        bars.append(Bar(settled[edge], "headland", HEADLAND, part=False))
    return bars


def _fill(order: tuple[str, ...], name: str) -> Fill:
    return crop_fill(order.index(name)) if name in order else HEADLAND
