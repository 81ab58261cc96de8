"""Number strips as the seasons before did, where a plan carries their numbers on."""

from collections.abc import Sequence

from striplay.errors import PlanError
from striplay.plan.models import Plan


def numbers_carried(
    plan: Plan, planted: Sequence[Sequence[int]], places: Sequence[int]
) -> list[tuple[int, ...]] | None:
    """Give the number of each place across the field; new strips have those after the last.

    Args:
        plan: the numbers it carries on.
        planted: the places with a strip, in order, block by block.
        places: how many there are in each block.

    Returns:
        By block; None where the plan carries none, and strips are counted.

    Raises:
        PlanError: it carries numbers of other places.
    """
    known = plan.season.numbers
    if known is None:
        return None
    if [len(own) for own in known] != [*places]:
        said = (
            f"season.numbers: is of {' and '.join(str(len(own)) for own in known)} places across, "
            f"and {' and '.join(map(str, places))} lie on the field; delete it, and strips are "
            "counted anew"
        )
        raise PlanError(plan.path.name, [said])
    last = max((number for own in known for number in own), default=0)
    found = []
    for own, here in zip(known, planted, strict=True):
        numbers = list(own)
        for place in here:
            if not numbers[place]:
                last += 1
                numbers[place] = last
        found.append(tuple(numbers))
    return found
