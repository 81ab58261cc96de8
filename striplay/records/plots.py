"""Hold measured plots: strips, or rows of them, with the treatment that each had in its block."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from striplay.errors import YieldError

TWO = 2


@dataclass(frozen=True, slots=True)
class Plot:
    """A yield measured on a plot.

    Attributes:
        block: its block, a part of the field in which every treatment stands once.
        treatment: what was done there, such as alone, or strips.
        crop: whose yield it is.
        kg_per_m2: by the ground of that crop itself, at base moisture.
        strip: number of its strip; None where it has none.
        row: place of its rows from the strip's edge, from 1; None where it is the whole strip.
        inner: whether its rows are those inside, that edges are held against.
        side: side of the strip that its rows lie on; empty where that is not told.
    """

    block: str
    treatment: str
    crop: str
    kg_per_m2: float
    strip: int | None = None
    row: int | None = None
    inner: bool = False
    side: str = ""


def whole_strips(plots: Iterable[Plot], crop: str) -> list[Plot]:
    """Give the plots of a crop that are whole strips."""
    return [one for one in plots if one.crop == crop and one.row is None and not one.inner]


def treatments_of(plots: Iterable[Plot]) -> list[str]:
    """Name the treatments, in the order they come."""
    return list(dict.fromkeys(one.treatment for one in plots))


def blocks_of(plots: Iterable[Plot]) -> list[str]:
    """Name the blocks, in the order they come."""
    return list(dict.fromkeys(one.block for one in plots))


def is_complete(plots: Sequence[Plot]) -> bool:
    """Tell whether every treatment stands once in every block."""
    pairs = {(one.block, one.treatment) for one in plots}
    wanted = len(blocks_of(plots)) * len(treatments_of(plots))
    return len(pairs) == len(plots) == wanted


def spare_of(plots: Sequence[Plot]) -> int:
    """Count the plots that treatments and blocks leave to tell chance by: degrees of freedom.

    Where plots are missing these are those of the spread within blocks, as Pinheiro and Bates,
    Mixed-Effects Models in S and S-PLUS, 2000, section 2.4.2 count them (from memory).
    """
    return len(plots) - len(treatments_of(plots)) - len(blocks_of(plots)) + 1


def check_plots(plots: Sequence[Plot], crop: str) -> None:
    """Check that plots of a crop can be compared.

    Raises:
        YieldError: one treatment, one block, a plot twice, or a yield that is not above
            nought.
    """
    treatments, blocks = treatments_of(plots), blocks_of(plots)
    if len(treatments) < TWO:
        has = f"has one treatment, {treatments[0]}" if treatments else "has no plot"
        raise YieldError(f"{crop}: {has}; two or more are compared")
    if len(blocks) < TWO:
        raise YieldError(
            f"{crop}: has one block, {blocks[0]}; without a second nothing tells what chance does"
        )
    seen: set[tuple[str, str]] = set()
    for one in plots:
        if (one.block, one.treatment) in seen:
            raise YieldError(
                f"{crop}: has {one.treatment} twice in block {one.block}; give their mean, or tell "
                "blocks apart"
            )
        seen.add((one.block, one.treatment))
        if not one.kg_per_m2 > 0.0:
            raise YieldError(f"{crop}: a yield of {one.treatment} is not above 0")
    if spare_of(plots) < 1:
        raise YieldError(
            f"{crop}: has too few plots to tell treatments from blocks; each treatment is needed "
            "in two blocks or more, beside the others"
        )
