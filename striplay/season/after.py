"""Say what to mind where one crop comes after another in the same strips."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.plan.operations import OperationWish
from striplay.season.calendar import Window
from striplay.season.degree_days import Weather
from striplay.season.facts import CropFacts
from striplay.season.pairing import judge_family
from striplay.season.shared_days import Windows
from striplay.section.mixture import crops_named
from striplay.section.section import Section

TREATS = ("spray", "spread")
"""Work that leaves a product on the ground."""


BARE_DAYS = 30
"""Ground that is bare for fewer has no time for a cover crop (our choice)."""


@dataclass(frozen=True, slots=True)
class Change:
    """What stands in strips one season and the next.

    Attributes:
        label: what the plan calls what stood in them: a crop or a mixture.
        crops: the crops that stood in them.
        others: the crops that come into them.
    """

    label: str
    crops: tuple[str, ...]
    others: tuple[str, ...]


def after_notices(
    changes: Sequence[Change],
    facts: Mapping[str, CropFacts],
    windows: tuple[Windows, Windows],
    operations: Iterable[OperationWish],
) -> Iterator[Notice]:
    """Say what to mind where next season's crops stand in strips that others stood in.

    No interval and no disease is invented: the labels and local advice are asked for in words.

    Args:
        changes: of every kind of strip.
        facts: what is known of each crop.
        windows: when crops stand, this season and the next.
        operations: of the plan, for the products that its crops had.
    """
    yield from _days(changes, windows)
    yield _plant_back(changes, list(operations), "the next crop is sown")
    pairs = [pair for one in changes for pair in product(one.crops, one.others)]
    for crop, other in {tuple(sorted(pair)): pair for pair in pairs}.values():
        yield _health(facts[crop], facts[other])


def _days(changes: Sequence[Change], windows: tuple[Windows, Windows]) -> Iterator[Notice]:
    """Say how long strips stand bare, or that a crop would be sown while the last still stands."""
    bare = []
    for one in changes:
        ends = {crop: windows[0][crop][1] for crop in one.crops if crop in windows[0]}
        free = {crop: end for crop, end in ends.items() if end is not None}
        begins = {crop: windows[1][crop][0] for crop in one.others if crop in windows[1]}
        if not free or not begins:
            continue
        last, first = max(free, key=free.__getitem__), min(begins, key=begins.__getitem__)
        on = [crop for crop, end in ends.items() if end is None]
        if any(windows[0][crop][0] >= free[last] for crop in on):
            continue  # what is sown after the last harvest stands on, until no one knows when
        if begins[first] <= free[last]:
            text = (
                f"{first} is to be sown {begins[first].isoformat()} where {last} stands until "
                f"{free[last].isoformat()}; sow it later, or another crop, or harvest sooner"
            )
            yield Notice("season", "stop", None, text)
        else:
            days = (begins[first] - free[last]).days
            if days < BARE_DAYS:
                continue
            span = f"{free[last].isoformat()} to {begins[first].isoformat()}"
            bare.append(f"those of {one.label} {days} days, {span}")
    if bare:
        text = (
            f"strips stand bare, {'; '.join(bare)}: time for a cover crop, or after an early "
            "harvest for a second crop, by [[after_harvest]] in this season's plan; --after CROP "
            "puts one into the next; ask locally which still grows, and read the labels whether "
            "it may be sown there"
        )
        yield Notice("season", "know", None, text)


def second_notices(
    plan: Plan,
    section: Section,
    facts: Mapping[str, CropFacts],
    settled: Mapping[str, Window],
    weather: Sequence[Weather],
) -> Iterator[Notice]:
    """Say what to mind of each crop that is sown after a harvest in the same season.

    Args:
        plan: its operations, for the products that the first crop had.
        section: the set, whose layers say what follows what.
        facts: what is known of each crop.
        settled: when crops stand.
        weather: days' weather, for frost; empty where there is none.
    """
    follows: dict[str, dict[str, list[str]]] = {}
    for layer in section.layers:
        if layer.follows:
            follows.setdefault(layer.label, {}).setdefault(layer.host, []).append(layer.crop)
    for label, hosts in follows.items():
        changes = [
            Change(host, crops_named(plan, host), (*crops,)) for host, crops in hosts.items()
        ]
        after = " and ".join(hosts)
        yield _plant_back(changes, plan.operations, f"{label} is sown after {after}")
        for change in changes:
            for crop, other in product(change.crops, change.others):
                yield _health(facts[crop], facts[other])
        for crop in changes[0].others:
            if crop in settled:
                yield _ripens(plan, settled[crop], facts[crop], after, weather)


def _ripens(
    plan: Plan, window: Window, facts: CropFacts, host: str, weather: Sequence[Weather]
) -> Notice:
    """Say how long a second crop has until its harvest, and of a cover crop until it is ended."""
    name, sown, end = window.crop, window.sown.isoformat(), window.harvested
    reaped = plan.crops[name].reaped
    if end is None:
        asked = "whether it ripens" if reaped else "whether it is ended before the next crop"
        text = f"{name} after {host}: {asked} is not known without crops.{name}.harvested"
        return Notice("season", "mind", None, text)
    days = (end - window.sown).days
    each = {"season_days": facts.season_days, "elsewhere_days": facts.elsewhere_days}
    known = {key: span for key, span in each.items() if span is not None}
    text = f"{name} after {host}: sown {sown}, it has {days} days until {end.isoformat()}"
    if not reaped:
        text += ", when it is to be ended: products by their labels, and ask which rules of cover "
        text += "crops and crop insurance hold (common practice, no source)"
        return Notice("season", "know", None, text)
    takes = [f"{_days_words(span)} ({facts.source(key)})" for key, span in known.items()]
    short = bool(known) and days < min(least for least, _ in known.values())
    text += (
        f"; {facts.kind} takes {' or '.join(takes)}"
        if takes
        else "; how many it takes is not in the table"
    )
    if short:
        text += ": too few; sow an early kind or sooner, or another crop"
    frost = next(
        (one for one in weather if window.stands_on(one.day) and one.least_c <= FREEZING_C), None
    )
    if frost is not None:
        text += f"; the weather given freezes on {frost.day.isoformat()}, while it stands"
    else:
        text += "; ask locally when the first killing frost is to be reckoned with"
    return Notice("season", "mind" if short or frost is not None else "know", None, text)


def _days_words(span: tuple[int, int]) -> str:
    least, most = span
    return f"{least}" if least == most else f"{least} to {most}"


FREEZING_C = 0.0
"""Days at or below it are told; how much frost a crop bears is asked locally."""


def _plant_back(
    changes: Sequence[Change], operations: Sequence[OperationWish], until: str
) -> Notice:
    """Ask for the plant-back intervals of what each strip was treated with, until something."""
    had = []
    for one in {change.label: change for change in changes}.values():
        names = {one.label, *one.crops}
        mine = [
            each.product
            for each in operations
            if each.does in TREATS
            and each.product
            and (each.crops == "all" or names & {*each.crops})
        ]
        if mine:
            had.append(f"{one.label} {', '.join(dict.fromkeys(mine))}")
    named = f" (in the plan: {'; '.join(had)})" if had else ""
    text = (
        f"before {until}, the plant-back interval must be over for all that its strip was treated "
        f"with{named}; the labels name it crop by crop, and they decide"
    )
    return Notice("season", "mind", None, text)


def _health(one: CropFacts, other: CropFacts) -> Notice:
    """Say what pests and diseases may pass from a crop's residue to the next crop."""
    if one.name == other.name:
        text = (
            f"{one.spoken} again after {one.spoken}: pests and diseases that stay in its residue "
            "and soil meet it again; ask locally (common practice, no source)"
        )
        return Notice("season", "mind", None, text)
    judged = judge_family(one, other)
    text = f"{one.spoken} and {other.spoken} after each other: {judged.said} ({judged.source})"
    return Notice("season", "mind", None, text)
