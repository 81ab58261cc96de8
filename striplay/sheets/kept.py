"""Keep what several pages of a book draw of one layout, so that it is worked out once."""

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Any, TypeVar

Made = TypeVar("Made")


@dataclass(frozen=True)
class Kept:
    """What was worked out of layouts, by what it is.

    Attributes:
        made: each with the layout that it is of, which so is not forgotten while its name is used.
    """

    made: dict[tuple[Hashable, ...], tuple[object, Any]] = field(default_factory=dict)

    def of(self, layout: object, what: tuple[Hashable, ...], make: Callable[[], Made]) -> Made:
        """Give what a layout has of something, made where it is asked for the first time.

        >>> kept, field = Kept(), object()
        >>> kept.of(field, ("rows",), lambda: 4), kept.of(field, ("rows",), lambda: 5)
        (4, 4)
        """
        key = (id(layout), *what)
        if key not in self.made:
            self.made[key] = (layout, make())
        made: Made = self.made[key][1]
        return made
