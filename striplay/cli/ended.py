"""Let a run that is asked to end clear up behind itself."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager

ASKED = ("SIGTERM", "SIGHUP")
"""How a system asks a run to end: by name, or as its terminal closes."""


@contextmanager
def ends_clean(status: int) -> Iterator[None]:
    """Leave with a status where the system asks to, by way of all that clears up.

    What the caller has set for such a signal stays.
    """
    if threading.current_thread() is not threading.main_thread():
        yield  # where no signal can be taken
        return

    def leave(*_: object) -> None:
        raise SystemExit(status)

    numbers = [getattr(signal, name) for name in ASKED if hasattr(signal, name)]
    taken = [one for one in numbers if signal.getsignal(one) is signal.SIG_DFL]
    try:
        for one in taken:
            signal.signal(one, leave)
        yield
    finally:
        for one in taken:
            signal.signal(one, signal.SIG_DFL)
