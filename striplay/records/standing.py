"""Tell which entries stand: those that no other standing entry withdraws."""

from collections.abc import Iterable, Sequence

from striplay.records.entry import Recorded, Undo


def withdrawn_by(recorded: Iterable[Recorded]) -> dict[int, int]:
    """Give the number of each withdrawn entry, and that of the entry which withdraws it.

    An entry withdraws only what was written before it, so the last one always stands; one that is
    withdrawn itself withdraws nothing, and what it withdrew stands again.
    """
    found: dict[int, int] = {}
    for one in sorted(recorded, key=lambda one: one.number, reverse=True):
        target = one.entry.withdraws
        if target is not None and one.number not in found:
            found.setdefault(target, one.number)
    return found


def standing(recorded: Sequence[Recorded]) -> list[Recorded]:
    """Give the entries that stand and say something, in the order written."""
    gone = withdrawn_by(recorded)
    return [one for one in recorded if one.number not in gone and not isinstance(one.entry, Undo)]


def last_standing(recorded: Sequence[Recorded]) -> Recorded | None:
    """Give the entry written last of those that stand; None where none does."""
    found = standing(recorded)
    return max(found, key=lambda one: one.number) if found else None
