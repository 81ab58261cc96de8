"""Say what the user should know: what it is about, how grave it is, and where."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

Severity = Literal["stop", "mind", "know"]
Kind = Literal[
    "boundary", "obstacle", "blocks", "heading", "fit", "wheels", "passes", "seed", "slope",
    "operations", "season", "weather", "crop", "money", "sheets", "records", "example",
]  # fmt: skip
Place = str | tuple[float, float] | None
"""Where on the ground: in words, or longitude and latitude in degrees; None where nowhere."""

SEVERITIES: Mapping[Severity, str] = {
    "stop": "it can't be done as planned, or can hurt someone",
    "mind": "it costs something, or needs a decision",
    "know": "for information",
}
"""What each severity means, the gravest first."""
KINDS: Mapping[Kind, str] = {
    "boundary": "the boundary as read",
    "obstacle": "obstacles, and machines among them",
    "blocks": "parts of the field with headings of their own",
    "heading": "which way rows run",
    "fit": "widths of strips and of machines",
    "wheels": "wheels and openers on rows",
    "passes": "the passes that machines drive",
    "seed": "seed and blends",
    "slope": "slope and soil",
    "operations": "whether each operation can be done, and what it costs",
    "season": "when crops stand, and what is in the way of an operation",
    "weather": "the weather file",
    "crop": "what is known of a crop",
    "money": "yields and prices",
    "sheets": "what the sheets can't print",
    "records": "what was measured or written down",
    "example": "what is made up, or drawn by hand, and not the farm's own",
}
"""What each kind is about."""


@dataclass(frozen=True, slots=True)
class Notice:
    """Something the user should know; its text is all that a person needs.

    Attributes:
        kind: what it is about, one of `KINDS`.
        severity: how grave it is, one of `SEVERITIES`.
        place: where on the ground; None where it is of no one place.
        text: one clear message.
        job: name of the operation of the season that it judges; empty where none.
        machines: the machines whose passes it is about, as far as it is about some.

    >>> str(Notice("slope", "mind", None, "rows fall by 3 %"))
    'rows fall by 3 %'
    """

    kind: Kind
    severity: Severity
    place: Place
    text: str
    job: str = ""
    machines: tuple[str, ...] = ()

    def __str__(self) -> str:
        return self.text

    @property
    def data(self) -> dict[str, Any]:
        """The notice as accounts.json holds it."""
        place = list(self.place) if isinstance(self.place, tuple) else self.place
        found = {
            "kind": self.kind, "severity": self.severity, "place": place, "text": self.text,
        }  # fmt: skip
        return {**found, "job": self.job} if self.job else found


def gravest_first(notices: Iterable[Notice]) -> list[Notice]:
    """Order notices by severity; those of one severity stay in the order they came."""
    order = list(SEVERITIES)
    return sorted(notices, key=lambda notice: order.index(notice.severity))


def few(words: Sequence[object], most: int = 4) -> str:
    """Write the first of several, and how many more there are; at least one.

    >>> few([3]), few([3, 7, 12]), few([1, 2, 3, 4, 5, 6])
    ('3', '3, 7 and 12', '1, 2, 3, 4 and 2 more')
    """
    said = [str(word) for word in words[:most]]
    if len(words) > most:
        said.append(f"{len(words) - most} more")
    return said[0] if len(said) == 1 else ", ".join(said[:-1]) + " and " + said[-1]


def of_passes(numbers: Sequence[int]) -> str:
    """Name passes by number, the first few.

    >>> of_passes([3]), of_passes([3, 7])
    ('pass 3', 'passes 3 and 7')
    """
    return f"{'pass' if len(numbers) == 1 else 'passes'} {few(numbers)}"
