"""Say what a plan holds of seasons: a file of weather, and what the next one asks of this."""

import re
from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from striplay.limits import MAX_DIGITS, MAX_NUMBERS
from striplay.plan.quantities import FileName, Sequenced
from striplay.plan.table import Table


class WeatherSource(Table):
    """Daily weather, for stages by degree days."""

    file: FileName = Field(
        description="A CSV with a line a day, relative to the plan.", examples=["weather.csv"]
    )
    day: str = Field("day", description="Its column of days, year-month-day.", examples=["day"])
    least: str = Field("least", description="Its column of least temperatures.", examples=["least"])
    greatest: str = Field(
        "greatest", description="Its column of greatest temperatures.", examples=["greatest"]
    )
    units: Literal["F", "C"] = Field("F", description="F or C.", examples=["F"])


_RUN = re.compile(r"\s*(\d+)(?:\s*-\s*(\d+))?\s*")


def read_numbers(value: object) -> tuple[tuple[int, ...], ...]:
    """Read the numbers of strips' places, block by block: runs such as "0, 1-24".

    Raises:
        ValueError: not written so, too many in all, or a number twice.

    >>> read_numbers(["0, 1-3", "5"])
    ((0, 1, 2, 3), (5,))
    """
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise ValueError('must be a list of text, one for each block, such as ["0, 1-24"]')
    blocks: list[tuple[int, ...]] = []
    count = 0
    for text in value:
        own: list[int] = []
        for part in text.split(",") if text.strip() else []:
            match = _RUN.fullmatch(part)
            ends = [] if match is None else [one for one in match.groups() if one is not None]
            if not ends or max(map(len, ends)) > MAX_DIGITS:
                raise ValueError('must be numbers and runs of them, such as "0, 1-24"')
            first, last = int(ends[0]), int(ends[-1])
            count += last - first + 1  # before a run is spelled out: a few letters may say millions
            if last < first or count > MAX_NUMBERS:
                raise ValueError(
                    f"must be {MAX_NUMBERS:,} numbers or fewer in all, each run rising"
                )
            own += range(first, last + 1)
        blocks.append(tuple(own))
    known = [number for own in blocks for number in own if number]
    if len(set(known)) < len(known):
        raise ValueError("has a number twice")
    return tuple(blocks)


def write_numbers(blocks: Sequence[Sequence[int]]) -> list[str]:
    """Write numbers of places as they are read.

    >>> write_numbers([(0, 1, 2, 3, 7), (5,)])
    ['0-3, 7', '5']
    """
    found = []
    for own in blocks:
        runs: list[list[int]] = []
        for number in own:
            if runs and number == runs[-1][-1] + 1:
                runs[-1] = [runs[-1][0], number]
            else:
                runs.append([number])
        found.append(", ".join("-".join(map(str, dict.fromkeys(run))) for run in runs))
    return found


class NextSeason(Table):
    """What the next season asks of this one's strips."""

    swap: bool = Field(
        default=True,
        description='Crops are to swap places next season: where rows = "fit", strips of equal '
        "width go before all but what fits the machines; false: each stays in its strips; left "
        "out: true.",
        examples=[False],
    )
    sequence: Sequenced | None = Field(
        None,
        description="What follows what in a strip: each crop or mixture is followed by the next of "
        "the list, the last by the first; left out: in the order the strips name them.",
        examples=[["corn", "soybean", "wheat"]],
    )
    numbers: Annotated[tuple[tuple[int, ...], ...], BeforeValidator(read_numbers)] | None = Field(
        None,
        description="Numbers that places across the field had in seasons before, block by block, 0 "
        "for one that was never planted; striplay next writes it where they would change. Left "
        "out: strips that are planted are counted.",
        examples=[["0-24"]],
    )
