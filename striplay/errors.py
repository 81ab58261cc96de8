"""Name everything that can go wrong.

The tree::

    StriplayError            any refusal; its text is one clear message
    ├── PlanError            the plan file: every fault at once
    ├── BoundaryError        the boundary or obstacle file, or the ground it describes
    │   └── NoStripError     a field without room for a strip as planned
    ├── OutputError          the output folder or file
    │   └── WriteError       the system can't write it: a full disk, no permission
    ├── RecordError          an entry that can't be, or a table of them: every fault at once
    ├── StoreError           a store of records that can't be used
    ├── YieldError           yields, prices or moistures that can't be
    ├── MonitorError         a yield monitor's file that can't be
    ├── AccountsError        areas that do not add up: a fault of striplay, not of its user
    └── PassError            a pass that would meet an obstacle: likewise

Only the command line turns these into a line on stderr and an exit status.
"""

from collections.abc import Sequence

from striplay.limits import MAX_TOLD


class StriplayError(Exception):
    """A refusal with a message that says what is wrong, where, and what would do."""


class PlanError(StriplayError):
    """A plan that can't be used.

    Attributes:
        faults: one line each, "key: what is wrong; what would do".
    """

    def __init__(self, file: str, faults: list[str]) -> None:
        self.file = file
        self.faults = tuple(faults)
        super().__init__(_told(file, faults))


class BoundaryError(StriplayError):
    """A boundary or obstacle file that can't be used as a field.

    Attributes:
        faults: what is wrong with its shapes, a line each; none where it is refused as a whole.
    """

    faults: tuple[str, ...] = ()

    @classmethod
    def of(cls, source: str, faults: Sequence[str]) -> "BoundaryError":
        """Gather all that is wrong with the shapes of a file."""
        error = cls(_told(source, faults))
        error.faults = tuple(faults)
        return error


def _told(source: str, faults: Sequence[str]) -> str:
    """Tell one fault in the line of its file, or several below it, the first of very many."""
    if len(faults) == 1:
        return f"{source}: {faults[0]}"
    lines = [f"  {fault}" for fault in faults[:MAX_TOLD]]
    if len(faults) > MAX_TOLD:
        lines.append(f"  and {len(faults) - MAX_TOLD:,} more")
    return "\n".join([f"{source}: {len(faults):,} faults", *lines])


class NoStripError(BoundaryError):
    """A field, or a block of it, on which no strip can be laid as planned.

    Attributes:
        source: the file, for the message.
        reason: why; what would do may follow.
    """

    def __init__(self, source: str, reason: str) -> None:
        self.source, self.reason = source, reason
        super().__init__(f"{source}: {reason}")


class YieldError(StriplayError):
    """A yield, price, share or moisture that can't be, or one that is missing."""


class MonitorError(StriplayError):
    """A yield monitor's file that can't be read, or can't be of this field."""


class RecordError(StriplayError):
    """An entry of the season's records that can't be, or a table of them.

    Attributes:
        faults: one line each, "key: what is wrong; what would do"; of a table with the line's
            number before it.
    """

    def __init__(self, faults: Sequence[str], source: str = "") -> None:
        self.faults = tuple(faults)
        one = len(faults) == 1 and not source
        super().__init__(faults[0] if one else _told(source or "the entry", faults))


class StoreError(StriplayError):
    """A store of records that can't be used: no store, damaged, or of a newer striplay."""


class OutputError(StriplayError):
    """An output folder or file that may not or can't be written."""


class WriteError(OutputError):
    """An output folder or file that the system can't write: a full disk, no permission."""


class AccountsError(StriplayError):
    """Areas that do not add up to the field; nothing is handed over on such figures."""


class PassError(StriplayError):
    """A pass that would meet an obstacle; nothing is handed over that can't be driven."""
