"""Check what a plan says of the season's operations."""

from collections.abc import Mapping

from striplay.plan.check_systems import names_in
from striplay.plan.crops import Crop
from striplay.plan.faults import Faults
from striplay.plan.machines import MACHINES, Cart, Harvester, Machine
from striplay.plan.operations import OperationWish

CROPS_OWN = {"plant": "planter", "harvest": "harvester"}
"""Operations whose machine each crop names itself, and the key that does."""


def read_operations(
    faults: Faults,
    tables: object,
    crops: Mapping[str, Crop],
    machines: Mapping[str, Machine],
    raw: Mapping[str, object],
) -> tuple[OperationWish, ...]:
    """Read [[operations]], and check that their machines do them and their crops are there."""
    if not isinstance(tables, list):
        faults.add("operations", "must be a list of tables, each written [[operations]]")
        return ()
    grown = [*names_in(raw.get("crops")), *names_in(raw.get("mixtures"))]
    found = []
    for number, table in enumerate(tables, start=1):
        key = f"operations[{number}]"
        wish = faults.read(OperationWish, table, key)
        if wish is None:
            continue
        kinds = [kind for kind, model in MACHINES.items() if model.covers != "nothing"]
        if wish.does not in kinds:
            faults.add(f"{key}.does", f'"{wish.does}" is not one of {", ".join(kinds)}')
            continue
        named = names_in(raw.get("machines"))
        if faults.check_name(f"{key}.machine", wish.machine, named, "machine"):
            _check_machine(faults, key, wish, machines)
        for crop in () if wish.crops == "all" else wish.crops:
            if faults.check_name(f"{key}.crops", crop, grown, "crop") and crop in crops:
                _check_own(faults, key, wish, crop, crops[crop])
        if wish.crops != "all" and len(set(wish.crops)) < len(wish.crops):
            faults.add(f"{key}.crops", "names a crop twice; once will do")
        if (wish.rate is None) != (not wish.product):
            lacking = "rate" if wish.rate is None else "product"
            faults.add(f"{key}.{lacking}", "is missing: product and rate stand together")
        _check_price(faults, key, wish)
        found.append(wish)
    return tuple(found)


def _check_price(faults: Faults, key: str, wish: OperationWish) -> None:
    """Check that a product's price is by what its rate is by: volume or weight."""
    price, rate = wish.product_price, wish.rate
    if price is None:
        return
    if rate is None:
        faults.add(f"{key}.rate", "is missing: what is applied by area, at that price?")
    elif price.si_unit.removeprefix("per_") != rate.si_unit.split("_", maxsplit=1)[0]:
        by = {"per_m3": ("volume", "weight"), "per_kg": ("weight", "volume")}[price.si_unit]
        said = f"is by {by[0]} and the rate by {by[1]}; give both by one of them"
        faults.add(f"{key}.product_price", said)


def _check_machine(
    faults: Faults, key: str, wish: OperationWish, machines: Mapping[str, Machine]
) -> None:
    """Check that a machine does what an operation asks of it."""
    machine = machines.get(wish.machine)
    if machine is not None and machine.does != wish.does:
        said = (
            f'"{wish.machine}" does not {wish.does}; a machine with does = "{wish.does}" is needed'
        )
        faults.add(f"{key}.machine", said)


def _check_own(faults: Faults, key: str, wish: OperationWish, name: str, crop: Crop) -> None:
    """Check that planting and harvest are by the crop's own machine."""
    own = CROPS_OWN.get(wish.does)
    if own is None:
        return
    machine = getattr(crop, own)
    if machine != wish.machine:
        said = f'is "{wish.machine}", and crops.{name}.{own} is "{machine}"; name one and the same'
        faults.add(f"{key}.machine", said)


def check_carts(faults: Faults, machines: Mapping[str, Machine], raw: Mapping[str, object]) -> None:
    """Check that the carts of combines are there and haul."""
    named = names_in(raw.get("machines"))
    for name, machine in machines.items():
        if not isinstance(machine, Harvester) or machine.cart is None:
            continue
        key = f"machines.{name}.cart"
        if faults.check_name(key, machine.cart, named, "machine"):
            cart = machines.get(machine.cart)
            if cart is not None and not isinstance(cart, Cart):
                faults.add(key, f'"{machine.cart}" does not haul; one with does = "haul" is needed')
