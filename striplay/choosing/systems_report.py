"""Say how the five systems are judged, in lines that a person reads, or as data."""

from collections.abc import Sequence
from dataclasses import asdict
from textwrap import indent, shorten, wrap
from typing import Any

from striplay.choosing.systems import Judged
from striplay.pay_report import WIDE

HOW = (
    "What is cut stands in --json. To take a system: put its tables into the plan in place of all "
    "[[strips]], [[row_set]], [[relay]] and [[quick_crop]], and of tables of the same name. What "
    "it needs stands there as an example: put the farm's own in its place. The sheets of striplay "
    "lay hold all cautions; labels, makers' manuals and local rules decide."
)
"""How to go on."""
LETTERS, MOST = 190, 330
"""Letters shown of what was found, its source always whole; and of any line, so that no caution is
cut. All of it stands in --json."""
SHOWN = 4
"""Lines of needs, of evidence and of what to watch that are shown; the rest stands in --json."""


def systems_report(found: Sequence[Judged]) -> list[str]:
    """Say of each system whether it can be done, what it needs, gives and risks, and the tables."""
    lines: list[str] = []
    for one in found:
        answer = "can be done as the plan stands" if one.feasible else "not as the plan stands"
        lines += wrap(f"{one.system}: {answer} ({one.what})", WIDE, subsequent_indent="  ")
        lines += _listed("needs", one.needs)
        lines += _listed(
            "gives",
            [
                f"{shorten(each.said, LETTERS, placeholder=' ...')} [{each.source}]"
                for each in one.gives
            ],
        )
        lines += _listed("watch", one.watch)
        lines += ["", *indent(one.snippet, "    ").splitlines(), ""]
    return [*lines, *wrap(HOW, WIDE)]


def _listed(head: str, said: Sequence[str]) -> list[str]:
    """List what is said under a word; none where there is nothing."""
    shown = [*said[:SHOWN]]
    if len(said) > SHOWN:
        shown = [*said[: SHOWN - 1], f"and {len(said) - SHOWN + 1} more, see --json"]
    lines = []
    for number, text in enumerate(shorten(one, MOST, placeholder=" ...") for one in shown):
        first = f"  {head if not number else '':<7}"
        lines += wrap(text, WIDE, initial_indent=f"{first}- ", subsequent_indent=" " * 11)
    return lines


def systems_data(found: Sequence[Judged]) -> dict[str, Any]:
    """Give the five systems as JSON holds them."""
    each = (asdict(one) for one in found)
    return {
        "systems": [{key: told for key, told in one.items() if key != "tables"} for one in each]
    }
