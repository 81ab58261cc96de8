"""Draft relays and quick crops for a plan: a crop between the rows of another."""

from datetime import date, timedelta
from typing import Any

from striplay.choosing.setting import Draft, Setting, crop_to_get, machine_to_get
from striplay.choosing.side_by_side import fit_strips, planned
from striplay.plan.machines import Harvester
from striplay.plan.typed import exact_length, exact_small_length
from striplay.section.between import layers_between
from striplay.section.mixture import is_mixture
from striplay.section.sets import settle_widths
from striplay.tolerances import WHOLE_NUMBER

AFTER_DAYS = 60
"""A second crop needs so many days alone after the first is off (our choice)."""
BEFORE_DAYS = 42
"""It is sown at most six or seven weeks before the first is off (Ohio State University, modified
relay): the example takes six."""
GROWS_DAYS = 90
"""An example's second crop is harvested so long after the first (our choice)."""
QUICK_DAYS, CLOSES_DAYS = 40, 55
"""An example's quick crop is off, and rows of the slow one close, so long after they are sown (our
choice: watch it in the field)."""
NEAR_DAYS = 30
"""A quick crop is sown so near to the slow one (our choice)."""
WIDTHS = 4
"""Strips of up to so many seeder passes are tried."""


def own_between(setting: Setting, key: str) -> Draft | None:
    """Take the plan's own relay or quick crop as it stands; None where it has none."""
    if not setting.tables.get(key):
        return None
    base = "row_set" if setting.tables.get("row_set") else "strips"
    draft = Draft(tables={base: setting.tables.get(base, []), key: setting.tables[key]})
    layers = [each[0] for each in layers_between(planned(setting, draft))]
    draft.what = ", ".join(f"{one.label} into {one.host}" for one in layers)
    for one in layers:
        if key == "relay":
            _ask_heights(setting, draft, one.host, known=one.height_m is not None)
    return draft


def draft_relay(setting: Setting) -> Draft:
    """Draft a relay: a second crop sown into a standing one that is off by summer."""
    own = own_between(setting, "relay")
    if own is not None:
        return own
    draft = Draft()
    seeder = (setting.row_planters or [machine_to_get(setting, draft, "planter", DRILL_M)])[0]
    second, host = _relay_pair(setting)
    row_m, wide_m = _rows_of(setting, draft, seeder)
    fine = [name for name in setting.drills if _divides(setting, name, row_m)]
    drill = fine[0] if fine else machine_to_get(setting, draft, "drill", wide_m)
    if host is None:
        host = _add_host(setting, draft, drill, wide_m)
    elif setting.plan.crops[host].planter != drill:
        draft.needs.append(f"crops.{host}.planter: {drill}, whose openers leave room between rows")
        draft.change(setting, "crops", host, "needed: sown by the drill", planter=drill)
    if second is None:
        second = _add_second(setting, draft, host, seeder)
    else:
        _check_second(setting, draft, second, host)
    opener_m = _rows_of(setting, draft, drill)[0]
    places_m = twin_rows_m(row_m, opener_m)
    units = setting.plan.units
    strip = {
        "crop": host,
        "period": exact_small_length(row_m, units),
        "pattern": [exact_small_length(at, units) for at in places_m],
    }
    relay: dict[str, Any] = {"crop": second, "into": host, "seeder": seeder,
                             "gap": exact_small_length(0.6 * row_m, units)}  # fmt: skip
    draft.tables["relay"] = [relay]
    for count in range(1, WIDTHS + 1):
        draft.tables["strips"] = [{**strip, "width": exact_length(count * wide_m, units)}]
        fit = settle_widths(planned(setting, draft))[0].strips[0]
        if fit.fits:
            break
    else:
        draft.needs.append(f"machines that fit {host}: {fit.reason}")
        draft.tables["strips"] = [{**strip, "width": exact_length(wide_m, units)}]
    draft.what = f"{second} into {host}"
    _ask_heights(setting, draft, host, known=False)
    return draft


DRILL_M = 9.144
"""Width of a seeder that is an example: 30 ft."""


def twin_rows_m(row_m: float, opener_m: float) -> tuple[float, float]:
    """Give two openers amid each period, so that the second crop's row stands between periods.

    >>> twin_rows_m(30.0, 7.5)
    (11.25, 18.75)
    """
    first = max(round(row_m / opener_m / 2 - 1 + WHOLE_NUMBER), 0)
    return (first + 0.5) * opener_m, (first + 1.5) * opener_m


def _rows_of(setting: Setting, draft: Draft, machine: str) -> tuple[float, float]:
    """Give the spacing and width of a machine that plants, of the shed or drafted."""
    drafted = machine in draft.tables.get("machines", {})
    plan = setting.plan
    if drafted:
        trial = Draft(tables={"machines": draft.tables["machines"]})
        plan = planned(setting, trial)
    found = plan.planter_of(machine)
    return found.row_m, found.width_m


def _divides(setting: Setting, drill: str, row_m: float) -> bool:
    """Tell whether at least three openers of a drill make a row's spacing."""
    openers = row_m / setting.plan.planter_of(drill).row_m
    return openers >= THREE - WHOLE_NUMBER and abs(openers - round(openers)) < WHOLE_NUMBER


THREE = 3


def _relay_pair(setting: Setting) -> tuple[str | None, str | None]:
    """Choose the second crop and the one it is sown into; None of one that the plan lacks.

    The one sown into is off well before the other, which bears shade.
    """
    ends = {crop: setting.windows[crop].harvested for crop in setting.crops
            if crop in setting.windows}  # fmt: skip
    known = {crop: end for crop, end in ends.items() if end is not None}
    bears = [crop for crop in known if setting.facts(crop).shade != "low"
             and setting.facts(crop).family == "legumes"]  # fmt: skip
    cereals = [crop for crop in known if setting.facts(crop).family == "grasses"
               and (setting.facts(crop).height_m or 0) <= LOW_M]  # fmt: skip
    for host in cereals:
        for crop in bears:
            if known[crop] - known[host] >= timedelta(days=AFTER_DAYS):
                return crop, host
    if cereals:
        return None, cereals[0]
    if bears:
        return max(bears, key=lambda crop: known[crop]), None
    legumes = [crop for crop in setting.crops if setting.facts(crop).family == "legumes"]
    return (legumes[0] if legumes and not known else None), None


LOW_M = 1.25
"""A crop sown into is no higher: cereals but not corn (our choice)."""


def _add_host(setting: Setting, draft: Draft, drill: str, wide_m: float) -> str:
    """Add an example of a crop to sow into."""
    header = (setting.platforms or [machine_to_get(setting, draft, "platform", wide_m)])[0]
    days = (("sown", setting.day(10, 5, year_before=True)), ("harvested", setting.day(7, 8)))
    why = "a crop that is off by summer, such as winter wheat; the plan has none"
    table = {"planter": drill, "harvester": header}
    return crop_to_get(setting, draft, "wheat", why, table, days)


def _add_second(setting: Setting, draft: Draft, host: str, seeder: str) -> str:
    """Add an example of a second crop."""
    crop, window = planned(setting, draft).crops[host], setting.windows.get(host)
    off = crop.harvested if window is None else window.harvested
    days: tuple[tuple[str, date | None], ...] = ()
    if isinstance(off, date):
        days = (("sown", off - timedelta(days=BEFORE_DAYS)),
                ("harvested", off + timedelta(days=GROWS_DAYS)))  # fmt: skip
    table = {"planter": seeder, **({"harvester": crop.harvester} if crop.harvester else {})}
    why = f"a low crop that goes on after {host}, such as soybean; the plan has none"
    return crop_to_get(setting, draft, "soybean", why, table, days)


def _check_second(setting: Setting, draft: Draft, second: str, host: str) -> None:
    """See that the second crop is sown while the first stands; set an example's day if not."""
    plan = planned(setting, Draft(tables={key: draft.tables[key] for key in ("machines", "crops")
                                          if key in draft.tables}))  # fmt: skip
    end, begin = plan.crops[host].harvested, plan.crops[host].sown
    window = setting.windows.get(second)
    if window is None or not isinstance(end, date) or not isinstance(begin, date):
        return
    if begin < window.sown < end:
        return
    day = end - timedelta(days=BEFORE_DAYS)
    draft.needs.append(f"crops.{second}.sown: a day while {host} stands, as {day.isoformat()}; now "
                       f"{window.sown.isoformat()}")  # fmt: skip
    draft.change(setting, "crops", second, f"needed: sown while {host} stands", sown=day)


def _ask_heights(setting: Setting, draft: Draft, host: str, *, known: bool) -> None:
    """Ask how high the header cuts and how high the second crop then stands, where not said."""
    plan, units = planned(setting, draft), setting.plan.units
    cut, high = ("12 in", "10 in") if units == "us" else ("30 cm", "25 cm")
    header, name = plan.harvester(host), plan.crops[host].harvester
    if isinstance(header, Harvester) and name and header.cutting_height_m is None:
        draft.needs.append(f"machines.{name}.cutting_height: how high it cuts {host}")
        remark = "needed: cutting_height as it is set; the rest as it was"
        draft.change(setting, "machines", name, remark, cutting_height=cut)
    if not known:
        draft.needs.append(f"relay.height: how high the second crop stands when {host} is cut")
        draft.tables["relay"] = [{"height": high, **one} for one in draft.tables["relay"]]
        draft.remarks["relay"] = "needed: height as it will stand; measure it"


def draft_quick(setting: Setting) -> Draft:
    """Draft a quick crop between the rows of a slow one, off before these close."""
    own = own_between(setting, "quick_crop")
    if own is not None:
        layers = [each[0] for each in layers_between(planned(setting, own))]
        for host in dict.fromkeys(one.host for one in layers):
            _ask_closure(setting, own, host)
        return own
    draft = Draft()
    host = _slow_crop(setting) or _add_slow(setting, draft)
    _ask_closure(setting, draft, host)
    planter = planned(setting, draft).crops[host].planter
    quick = _quick_crop(setting, draft, host, planter)
    fit_strips(setting, draft, [host])
    draft.tables["quick_crop"] = [{"crop": quick, "into": host}]
    draft.what = f"{quick} into {host}"
    return draft


def _slow_crop(setting: Setting) -> str | None:
    """Choose the crop in wide rows that stands longest; None where there is none."""

    def days(crop: str) -> int:
        window = setting.windows.get(crop)
        if window is None or window.harvested is None:
            return 0
        return (window.harvested - window.sown).days

    crops = setting.plan.crops
    found = [crop for crop in setting.crops
             if crops[crop].planter in setting.row_planters and crops[crop].reaped]  # fmt: skip
    return max(found, key=days) if found else None


def _add_slow(setting: Setting, draft: Draft) -> str:
    """Add an example of a slow crop in wide rows."""
    planter = (setting.row_planters or [machine_to_get(setting, draft, "planter", DRILL_M)])[0]
    why = "a slow crop in wide rows, such as corn; the plan has none"
    days = (("sown", setting.day(5, 2)), ("harvested", setting.day(10, 20)))
    return crop_to_get(setting, draft, "corn", why, {"planter": planter}, days)


def _ask_closure(setting: Setting, draft: Draft, host: str) -> None:
    """Ask for the day the slow crop's rows close, where not said; set an example's."""
    plan = planned(setting, draft) if draft.tables else setting.plan
    crop = plan.crops[host]
    if crop.canopy_closure is not None:
        return
    draft.needs.append(f"crops.{host}.canopy_closure: the day its rows close")
    window = setting.windows.get(host)
    sown = crop.sown if isinstance(crop.sown, date) else window and window.sown
    if sown and not is_mixture(plan, host):
        remark = "needed: canopy_closure as you see it in the field"
        day = sown + timedelta(days=CLOSES_DAYS)
        draft.change(setting, "crops", host, remark, canopy_closure=day)


def _quick_crop(setting: Setting, draft: Draft, host: str, planter: str) -> str:
    """Choose a crop that is off before the slow one closes; add an example where none is."""
    window = setting.windows.get(host)
    closes = window and (window.canopy_closure or window.sown + timedelta(days=CLOSES_DAYS))
    for crop in setting.crops:
        own = setting.windows.get(crop)
        if crop == host or not (window and closes and own and own.harvested):
            continue
        near = abs((own.sown - window.sown).days) <= NEAR_DAYS
        if near and own.harvested <= closes:
            return crop
    days: tuple[tuple[str, date | None], ...] = ()
    if window is not None:
        sown = window.sown
        days = (("sown", sown), ("harvested", sown + timedelta(days=QUICK_DAYS)))
    why = f"a crop that is off before {host} closes over it, such as radish; the plan has none"
    return crop_to_get(setting, draft, "radish", why, {"planter": planter}, days)
