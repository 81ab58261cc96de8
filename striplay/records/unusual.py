"""Tell of entries that come to far more than a field can have: a slip of a digit is likely."""

from collections.abc import Iterator, Sequence

from striplay.notices import Notice
from striplay.operations.amounts import kind_of
from striplay.plan.models import Plan
from striplay.plausible.values import ANY_YIELD, PLANTS_TIMES, YIELD_KG_PER_M2, YIELD_TIMES
from striplay.records.edition import Edition
from striplay.records.entry import Recorded, Stand, Yield
from striplay.records.measures import format_yield
from striplay.records.proposals import share_sown, stated_kg_per_m2
from striplay.records.told import plants_words
from striplay.records.yields import yields_of


def unusual_entries(
    plan: Plan, edition: Edition, new: Sequence[Recorded], recorded: Sequence[Recorded]
) -> Iterator[Notice]:
    """Tell of stands and yields that are hardly meant; few plants and little grain happen.

    Args:
        plan: whose records they are, with its rates and yields.
        edition: its edition.
        new: the entries that were just recorded.
        recorded: all, of which loads of one strip add up.
    """
    for one in new:
        if isinstance(one.entry, Stand):
            yield from _stand(plan, edition, one.number, one.entry)
    weighed = {
        (one.entry.strip, one.entry.crop, one.entry.rows): one.number
        for one in new
        if isinstance(one.entry, Yield)
    }
    if not weighed:
        return
    for found in yields_of(recorded, edition):
        number = weighed.get((found.strip, found.crop, found.rows))
        if number is None:
            continue
        facts = edition.crops.get(found.crop)
        bushel_kg = None if facts is None else facts.bushel_kg
        stated = stated_kg_per_m2(plan, found.crop)
        usual = YIELD_KG_PER_M2.get(kind_of(plan, found.crop), ANY_YIELD)
        most = usual.high if stated is None else stated * YIELD_TIMES
        if found.kg_per_m2 <= most:
            continue
        comes = format_yield(found.kg_per_m2, bushel_kg, edition.units)
        if stated is None:
            beside = f"and {format_yield(usual.high, bushel_kg, edition.units)} is the most had"
        else:
            beside = f"and the plan states {format_yield(stated, bushel_kg, edition.units)}"
        loads = f" with {found.loads} loads" if found.loads > 1 else ""
        told = (
            f"entry {number}: {found.crop} of strip {found.strip} comes to {comes}{loads}, "
            f"{beside}: are weight and strip right? undo withdraws it"
        )
        yield Notice("records", "mind", None, told)


def _stand(plan: Plan, edition: Edition, number: int, entry: Stand) -> Iterator[Notice]:
    """Tell of many more plants than seeds were dropped."""
    rate = plan.crops[entry.crop].rate_per_m2 if entry.crop in plan.crops else None
    if rate is None:
        return
    dropped = rate * share_sown(plan, edition, entry.strip, entry.crop)
    if entry.plants_per_m2 <= dropped * PLANTS_TIMES:
        return
    stood, sown = (plants_words(one, edition.units) for one in (entry.plants_per_m2, dropped))
    told = (
        f"entry {number}: {entry.plants:,} plants come to {stood}, and {sown.split()[0]} seeds are "
        "dropped: are count, row and length right? undo withdraws it"
    )
    yield Notice("records", "mind", None, told)
