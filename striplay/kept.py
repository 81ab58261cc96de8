"""Keep what was found, by what it was found from."""

from collections.abc import Callable
from threading import Lock
from typing import Any, TypeVar

Found = TypeVar("Found")


class Kept:
    """What was found, the latest of each kind; it goes with the value that holds it.

    A finder reads nothing but its key and what never changes, so that what is kept is what would be
    found again. Keys are compared by value, the latest first. What is kept is not pickled.

    >>> kept = Kept()
    >>> kept.once("double", 4, lambda: 8), kept.once("double", 4, lambda: 9)
    (8, 8)
    """

    def __init__(self, most: int = 16) -> None:
        """Keep nothing yet.

        Args:
            most: of each kind.
        """
        self._most = most
        self._found: dict[str, list[tuple[Any, Any]]] = {}
        self._lock = Lock()

    def once(self, kind: str, key: object, find: Callable[[], Found]) -> Found:
        """Give what is found from a key, found once as long as it is kept.

        Args:
            kind: what is found.
            key: all that it is found from.
            find: finds it.
        """
        with self._lock:
            each = self._found.setdefault(kind, [])
            for place in range(len(each) - 1, -1, -1):
                if each[place][0] == key:
                    each.append(each.pop(place))
                    kept: Found = each[-1][1]
                    return kept
        found = find()
        with self._lock:
            each.append((key, found))
            del each[: -self._most]
        return found

    def __reduce__(self) -> tuple[type["Kept"], tuple[int]]:
        return Kept, (self._most,)
