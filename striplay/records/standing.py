"""Tell which entries stand: those that no other standing entry withdraws."""

from collections.abc import Iterable, Sequence
from dataclasses import astuple, replace
from datetime import date

from striplay.records.entry import Entry, Recorded, Undo, kind_of


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


def only(
    recorded: Iterable[Recorded],
    *,
    strip: int | None = None,
    kind: str | None = None,
    since: date | None = None,
    until: date | None = None,
) -> list[Recorded]:
    """Give the entries of a strip, of a kind and of some days, in the order given.

    Args:
        recorded: what is recorded.
        strip: number of the strip; those of any, and of none, where None.
        kind: word for the kind, as `striplay.records.entry.KINDS` has it; of any where None.
        since: the first day; all before too where None.
        until: the last day, likewise.
    """
    return [
        one
        for one in recorded
        if strip in {None, one.entry.strip}
        and kind in {None, kind_of(one.entry)}
        and (since is None or one.entry.day >= since)
        and (until is None or one.entry.day <= until)
    ]


def last_standing(recorded: Sequence[Recorded]) -> Recorded | None:
    """Give the entry written last of those that stand; None where none does."""
    found = standing(recorded)
    return max(found, key=lambda one: one.number) if found else None


def faults_of_new(entries: Sequence[Entry], recorded: Sequence[Recorded]) -> list[str]:
    """Say of each new entry what keeps it from being added to those recorded; mostly nothing.

    Args:
        entries: to be added, in this order.
        recorded: what is there of the plan.

    Returns:
        A fault for each entry; empty where there is none.
    """
    gone = withdrawn_by(recorded)
    there = {_said(one.entry): one.number for one in standing(recorded)}
    numbers = {one.number for one in recorded}
    given: set[tuple[object, ...]] = set()
    found = []
    for entry in entries:
        bare, target, fault = _said(entry), entry.withdraws, ""
        if target is not None and target not in numbers:
            fault = f"entry: {target} is no entry of this plan"
        elif target is not None and target in gone:
            fault = f"entry: {target} is withdrawn already, by entry {gone[target]}"
        elif there.get(bare, target) != target:
            fault = f"is there already, word for word, as entry {there[bare]}; {_TWICE}"
        elif bare in given:
            fault = f"is there twice, word for word; {_TWICE}"
        given.add(bare)
        found.append(fault)
    return found


def _said(entry: Entry) -> tuple[object, ...]:
    """Give all that an entry says, but which it withdraws.

    Numbers have ten digits: turned into other units and back they stay the same.
    """
    said = (type(entry), *astuple(replace(entry, withdraws=None)))
    return tuple(f"{one:.10g}" if isinstance(one, float) else one for one in said)


_TWICE = "if it was done twice, say so with a remark"
