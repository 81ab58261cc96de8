"""Check what a plan says of money."""

from collections.abc import Iterable, Mapping

from striplay.plan.crops import Crop
from striplay.plan.defaults import BASE_MOISTURE, kind_named
from striplay.plan.faults import Faults
from striplay.plan.money import Economics, EdgeWish
from striplay.tolerances import SHARE_STEP


def read_economics(faults: Faults, table: object, crops: Iterable[str]) -> Economics | None:
    """Read [economics], and check that the rotation's crops are there and its shares add up."""
    found = faults.read(Economics, table, "economics")
    if found is None or found.rotation is None:
        return found
    known = list(crops)
    for crop in found.rotation:
        faults.check_name("economics.rotation", crop, known, "crop")
    total = sum(found.rotation.values())
    if abs(total - 1.0) > SHARE_STEP:
        faults.add("economics.rotation", f"adds up to {total:g}; shares of years add up to 1")
    return found


def read_edges(faults: Faults, tables: object, grown: Iterable[str]) -> tuple[EdgeWish, ...]:
    """Read [[edges]], and check that their crops are there and low, gain and high in order."""
    if not isinstance(tables, list):
        faults.add("edges", "must be a list of tables, each written [[edges]]")
        return ()
    found, known = [], list(grown)
    for number, table in enumerate(tables, start=1):
        key = f"edges[{number}]"
        wish = faults.read(EdgeWish, table, key)
        if wish is None:
            continue
        faults.check_name(f"{key}.crop", wish.crop, known, "crop")
        faults.check_name(f"{key}.beside", wish.beside, known, "crop")
        if wish.crop == wish.beside:
            faults.add(f"{key}.beside", "is the crop itself; name the crop beside it")
        for name, bound, sign in (("low", wish.low, 1), ("high", wish.high, -1)):
            if bound is None:
                continue
            if len(bound) != len(wish.gain):
                said = f"has {len(bound)} rows and gain {len(wish.gain)}; give as many"
                faults.add(f"{key}.{name}", said)
            elif any(sign * (one - mean) > 0 for one, mean in zip(bound, wish.gain, strict=True)):
                beyond = "above" if sign > 0 else "below"
                faults.add(f"{key}.{name}", f"lies {beyond} gain; low, gain and high go up")
        found.append(wish)
    return tuple(found)


def check_grain(faults: Faults, crops: Mapping[str, Crop]) -> None:
    """Check that a crop that is dried has a moisture to be sold at."""
    for name, crop in crops.items():
        asked = crop.moisture is not None or crop.drying is not None
        kind = kind_named(name, crop.like)
        if asked and crop.base_moisture is None and kind not in BASE_MOISTURE:
            faults.add(
                f"crops.{name}.base_moisture",
                "is missing: it is not known at which moisture it is sold; "
                "for example base_moisture = 0.14",
            )
