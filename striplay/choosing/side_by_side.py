"""Draft strips, row sets and mixed stands for a plan: crops side by side, or in one row."""

from itertools import combinations
from typing import Any

from striplay.choosing.setting import Draft, Setting, crop_to_get, machine_to_get
from striplay.choosing.tables import put_in
from striplay.files.plan import checked
from striplay.plan.models import Plan
from striplay.season.calendar import RIPE_DAYS
from striplay.section.contour import greatest_width_m
from striplay.section.fit import StripFit
from striplay.section.mixture import mixtures_of
from striplay.section.row_set import fit_row_set
from striplay.section.row_set_offers import offer_row_sets
from striplay.section.row_units import runs
from striplay.section.sets import fit_sets, settle_widths, written

PAIR = 2


def planned(setting: Setting, draft: Draft) -> Plan:
    """Give the plan with a draft's tables in place of its own."""
    return checked(put_in(setting.tables, draft.tables), setting.plan.path)


def draft_strips(setting: Setting) -> Draft:
    """Draft strips of the plan's crops, of the widths that fit best."""
    draft = Draft()
    labels = setting.labels
    if len(labels) < PAIR:
        labels = [*labels, _second_crop(setting, draft, labels)]
    fit_strips(setting, draft, labels)
    return draft


def fit_strips(setting: Setting, draft: Draft, labels: list[str]) -> None:
    """Add strips of the best widths; where none fits, of one planter pass, and why none does."""
    draft.tables["strips"] = [{"crop": label, "rows": "fit"} for label in labels]
    plan = planned(setting, draft)
    widest_m = _widest_on_slope_m(plan)
    best = next(iter([*fit_sets(plan, widest_m, most=1), *fit_sets(plan, most=1)]), None)
    if best is None or not all(one.fits for one in best.strips):
        draft.tables["strips"] = [{"crop": label, "passes": 1} for label in labels]
        plan = planned(setting, draft)
        best = settle_widths(plan)[0]
    else:
        draft.tables["strips"] = [
            _wish(label, one) for label, one in zip(labels, best.strips, strict=True)
        ]
    draft.needs += [
        f"machines that fit {label}: {one.reason}"
        for label, one in zip(labels, best.strips, strict=True) if not one.fits
    ]  # fmt: skip
    draft.what = written(best.crops, [one.width_m for one in best.strips], plan)


def _widest_on_slope_m(plan: Plan) -> float:
    """Give the widest strip to fit: no wider than contour strips are to be on the slope stated."""
    most_m = None if plan.slope is None else greatest_width_m(plan.slope.percent)
    return plan.widest_m if most_m is None else min(plan.widest_m, most_m)


def _wish(label: str, fit: StripFit) -> dict[str, Any]:
    """Wish for a strip of a width that fits."""
    return {"crop": label, "passes": fit.plant_passes}


def _second_crop(setting: Setting, draft: Draft, labels: list[str]) -> str:
    """Add an example of a second crop, sown by the first one's planter."""
    first = labels[0]
    name = "corn" if setting.facts(first).family == "legumes" else "soybean"
    planter = setting.plan.crops[first].planter
    window = setting.windows.get(first)
    days = () if window is None else (("sown", window.sown), ("harvested", window.harvested))
    return crop_to_get(setting, draft, name, "a second crop; the plan has one",
                       {"planter": planter}, days)  # fmt: skip


def draft_rows(setting: Setting) -> Draft:
    """Draft a row set: two crops in one planter pass."""
    draft = Draft()
    crops = [crop for crop in setting.crops if setting.plan.crops[crop].reaped]
    if setting.row_planters:
        planter = setting.row_planters[0]
    else:
        planter = machine_to_get(setting, draft, "planter", _widest_m(setting))
    mine = [crop for crop in crops if setting.plan.crops[crop].planter == planter]
    pair = list(dict.fromkeys([*mine, *crops]))[:PAIR]
    if len(pair) < PAIR:
        pair.append(_second_crop(setting, draft, pair or setting.crops[:1]))
    for crop in pair:
        if crop in setting.plan.crops and setting.plan.crops[crop].planter != planter:
            now = setting.plan.crops[crop].planter
            draft.needs.append(f"crops.{crop}.planter: {planter} instead of {now}, in its rows")
            draft.change(setting, "crops", crop, "needed: sown by the planter of both",
                         planter=planter)  # fmt: skip
    _one_day(setting, draft, pair)
    narrowest = dict(setting.tables.get("direction", {}))
    if narrowest.pop("narrowest", None) is not None:
        draft.tables["direction"] = narrowest  # it has no use with a row set
    _take_row_set(setting, draft, planter, (pair[0], pair[1]))
    return draft


def _widest_m(setting: Setting) -> float:
    """Give the width of the widest machine that plants."""
    return max(setting.plan.planter_of(crop.planter).width_m
               for crop in setting.plan.crops.values())  # fmt: skip


def _one_day(setting: Setting, draft: Draft, crops: list[str]) -> None:
    """Give crops that one pass sows one day, the last of theirs."""
    days = {crop: setting.windows[crop].sown for crop in crops if crop in setting.windows}
    if len(set(days.values())) < PAIR:
        return
    last = max(days.values())
    each = ", ".join(f"{crop} {day.isoformat()}" for crop, day in days.items())
    draft.needs.append(f"one day of sowing for what one pass sows; now {each}")
    for crop in days:
        if setting.plan.crops[crop].sown != last:  # another day, or a stage that may move
            remark = "needed: one day of sowing; settle which"
            draft.change(setting, "crops", crop, remark, sown=last)


def _take_row_set(setting: Setting, draft: Draft, planter: str, pair: tuple[str, str]) -> None:
    """Add the narrowest row set that all harvesters fit; where none does, halves, and why."""
    one, other = pair
    asked = {"planter": planter, "units": f"1 {one}", "travel": "back and forth"}
    machine = draft.tables.get("machines", {}).get(planter)
    count = machine["rows"] if machine else setting.plan.planter_of(planter).row_units or PAIR
    if count < PAIR:
        draft.needs.append(f"machines.{planter}: two row units or more")
    half = count // PAIR
    halves = [one] * (count - half) + [other] * half
    draft.tables["row_set"] = [asked | {"units": _units(tuple(halves))}]
    plan = planned(setting, draft)
    offer = next(iter(offer_row_sets(plan)), None)
    units = tuple(halves) if offer is None else offer.units
    draft.tables["row_set"] = [asked | {"units": _units(units)}]
    draft.what = f"{_units(units)} in one pass of {planter}"
    if offer is not None:
        return
    lacking = [crop for crop in pair if plan.harvester(crop) is None]
    draft.needs += [f"crops.{crop}.harvester: none is named, so none is judged"
                    for crop in lacking]  # fmt: skip
    seen: dict[str, str] = {}
    for crop, fit in fit_row_set(plan):
        if not fit.fits:
            seen.setdefault(crop, f"a harvester that fits {crop}: {fit.reason}")
    draft.needs += seen.values()


def _units(units: tuple[str, ...]) -> str:
    """Write what each row unit carries."""
    return ", ".join(f"{run.count} {run.crop}" for run in runs(units))


def draft_mixed(setting: Setting) -> Draft:
    """Draft a mixed stand: the plan's own mixture, or two crops that come nearest to one."""
    draft = Draft()
    mixed = mixtures_of(setting.plan)
    own = [label for label in setting.labels if label in mixed] or list(mixed)
    if own:
        parts = mixed[own[0]]
        beside = [label for label in setting.labels if label not in (own[0], *parts)]
        fit_strips(setting, draft, [own[0], *beside])
        draft.what = f"{own[0]}: {' and '.join(parts)} in one row"
        return draft
    crops = list(setting.crops)
    if len(crops) < PAIR:
        crops.append(_second_crop(setting, draft, crops))
    pair = min(combinations(crops, PAIR), key=lambda two: _apart(setting, two))
    name = setting.free_name("_".join(pair))
    one, other = (setting.plan.crops.get(crop) for crop in pair)
    planters = [crop.planter for crop in (one, other) if crop is not None]
    harvesters = {crop.harvester for crop in (one, other) if crop is not None}
    drilled = [planter for planter in planters if planter in setting.drills]
    mixture: dict[str, Any] = {"planter": (drilled or planters)[0]}
    if len(set(planters)) > 1:
        draft.needs.append(f"one machine that sows both: now {' and '.join(planters)}; "
                           f"{mixture['planter']} is taken")  # fmt: skip
    if len(harvesters) == 1 and None not in harvesters:
        mixture["harvester"] = harvesters.pop()
    else:
        named = " and ".join(sorted(str(each or "none named") for each in harvesters))
        draft.needs.append(f"one machine that harvests both at once, grain or forage: now {named}")
    mixture["parts"] = dict.fromkeys(pair, 0.5)
    draft.add("mixtures", name, mixture, "half of each crop's own full rate: settle the parts")
    _one_day(setting, draft, list(pair))
    days = _ripe_apart(setting, pair)
    if days > RIPE_DAYS:
        draft.needs.append(f"sorts that ripen together: {' and '.join(pair)} are harvested {days} "
                           f"days apart, and {RIPE_DAYS} is the most")  # fmt: skip
    beside = [label for label in setting.labels if label not in pair]
    fit_strips(setting, draft, [name, *beside])
    draft.what = f"{' and '.join(pair)} in one row"
    return draft


def _ripe_apart(setting: Setting, pair: tuple[str, ...]) -> int:
    """Tell how many days apart two crops are harvested; 0 where not known."""
    ends = [setting.windows[crop].harvested for crop in pair if crop in setting.windows]
    known = [end for end in ends if end is not None]
    return (max(known) - min(known)).days if len(known) == PAIR else 0


def _apart(setting: Setting, pair: tuple[str, ...]) -> tuple[int, int]:
    """Give how far two crops are from growing in one row: what differs, then days to harvest."""
    one, other = (setting.plan.crops.get(crop) for crop in pair)
    if one is None or other is None:
        return (PAIR, 0)
    sown = {setting.windows[crop].sown for crop in pair if crop in setting.windows}
    days = _ripe_apart(setting, pair)
    differs = (
        (one.planter != other.planter) + (one.harvester != other.harvester)
        + (len(sown) > 1) + (days > RIPE_DAYS)
    )  # fmt: skip
    return differs, days
