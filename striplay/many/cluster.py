"""Lay fields on a dask cluster; a worker that is lost costs time, and no field.

Nothing in a worker can end a thread of it. So what workers are at is looked at from here: a field
that takes too long is taken back, and a worker that goes on with it is ended.
"""

import os
import socket
import threading
import time
from collections import deque
from collections.abc import Callable, Generator, Iterator, Mapping
from contextlib import contextmanager, suppress
from queue import Empty, SimpleQueue
from typing import Any

from striplay.errors import OutputError
from striplay.limits import MOST_FIELD_S
from striplay.many.crew import TOO_LONG, Take
from striplay.many.field import Feature, Outcome, lay_feature, refused
from striplay.many.template import Template
from striplay.many.version import version_here
from striplay.plain import shortened

FIELDS_A_TASK = 5
"""Fields that travel together: half a second of work, against milliseconds on the way."""
TASKS_AHEAD = 3
"""Tasks for each core of the cluster, so that none waits for the next."""
TRIES = 2
"""A field that fails so often, alone in its task, is refused."""
WAIT_S = 20
LOOK_S = 30.0
"""So often it is looked what the workers are at."""
KNOWN_S = 1.0
"""After so long a cluster knows what was taken back."""


@contextmanager
def cluster_at(
    address: str,
) -> Iterator[Callable[[Template, Take], Generator[Outcome, None, None]]]:
    """Open a cluster by its scheduler's address, to lay fields on it.

    Raises:
        OutputError: distributed is not installed, nothing answers there, no worker has come, or
            one has another version of striplay.
    """
    try:
        from distributed import Client  # noqa: PLC0415 - heavy to load, and may be missing
    except ImportError:
        raise OutputError('--cluster: needs distributed; pip install "striplay[many]"') from None
    try:
        client = Client(address, timeout=WAIT_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        told = "is a scheduler running there? It is named as tcp://HOST:PORT"
        raise OutputError(f"--cluster {address}: nothing answers; {told}") from error
    with client:
        _check(client, address)
        yield lambda template, take: _laid(client, template, take)


def _check(client: Any, address: str) -> None:  # noqa: ANN401 - distributed has no types
    """Check that workers are there, each with this version of striplay."""
    try:
        client.wait_for_workers(1, timeout=WAIT_S)
    except TimeoutError:
        raise OutputError(f"--cluster {address}: has no workers; start some") from None
    for worker, version in client.run(version_here, on_error="return").items():
        if version != version_here():
            told = version if isinstance(version, str) else "none that can be loaded"
            raise OutputError(
                f"--cluster {address}: worker {worker} has another striplay ({told}); install "
                f"{version_here()} there"
            )


def lay_some(template: Template, features: tuple[Feature, ...]) -> list[Outcome]:
    """Lay a few fields, on a worker of the cluster."""
    return [lay_feature(template, one) for one in features]


def _laid(client: Any, template: Template, take: Take) -> Generator[Outcome, None, None]:  # noqa: ANN401 - distributed has no types
    """Give what comes of each field, in any order."""
    yield from _Tasks(client, template, take).outcomes()


class _Tasks:
    """The tasks that are on their way on a cluster, and the fields that wait for another try."""

    def __init__(self, client: Any, template: Template, take: Take) -> None:  # noqa: ANN401 - as above
        self._client, self._template, self._take = client, template, take
        self._ahead = TASKS_AHEAD * max(1, sum(client.nthreads().values()))
        self._again: deque[tuple[Feature, ...]] = deque()
        self._tried: dict[int, int] = {}
        self._on_way: dict[Any, tuple[Feature, ...]] = {}
        self._coming: SimpleQueue[Any] = SimpleQueue()

    def outcomes(self) -> Iterator[Outcome]:
        """Give what comes of each field, until none is left."""
        watch = _Watch(self._client)
        self._fill()
        while self._on_way:
            with suppress(Empty):
                yield from self._taken(self._coming.get(timeout=watch.rest_s))
            if watch.due:
                for late in watch.look(self._on_way):
                    yield from self._taken_back(late)
            self._fill()
        watch.finish()

    def _fill(self) -> None:
        """Send fields, as far ahead as workers need them."""
        while len(self._on_way) < self._ahead:
            some = self._again.popleft() if self._again else _some(self._take)
            if not some:
                return
            task = self._client.submit(lay_some, self._template, some, pure=False)
            self._on_way[task] = some
            task.add_done_callback(self._coming.put)

    def _taken(self, task: Any) -> Iterator[Outcome]:  # noqa: ANN401 - as above
        """Take what came of a task; fields whose workers were lost are tried again."""
        some = self._on_way.pop(task, ())
        if some and task.status == "finished":
            yield from task.result()
        elif some:  # its workers were lost, more than dask bears, or it could not be run there
            why = _why(task)
            for one in some:
                count = self._tried[one.number] = self._tried.get(one.number, 0) + (len(some) == 1)
                if count < TRIES:
                    self._again.append((one,))
                    continue
                yield self._refused(one, why)
        task.release()

    def _taken_back(self, task: Any) -> Iterator[Outcome]:  # noqa: ANN401 - as above
        """Take back a task that takes too long; of several fields each is tried alone."""
        some = self._on_way.pop(task)
        task.cancel()
        if len(some) > 1:
            self._again.extend((one,) for one in some)
        else:
            yield self._refused(some[0], TOO_LONG.format(MOST_FIELD_S / 60))

    def _refused(self, feature: Feature, why: str) -> Outcome:
        return refused(feature.number, self._template.name_of(feature.number, feature.values), why)


class _Watch:
    """Looks what the workers of a cluster are at, and ends one that goes on with what is no use."""

    def __init__(self, client: Any) -> None:  # noqa: ANN401 - as above
        self._client = client
        self._since: dict[str, float] = {}
        self._taken_back: set[str] = set()
        self._looked = time.monotonic()

    @property
    def rest_s(self) -> float:
        """How long it is until the next look, in seconds."""
        return max(0.001, self._looked + LOOK_S - time.monotonic())

    @property
    def due(self) -> bool:
        """Whether it is time to look."""
        return time.monotonic() >= self._looked + LOOK_S

    def look(self, on_way: Mapping[Any, object]) -> list[Any]:
        """Give the tasks that have been worked on for too long; they are to be taken back.

        A worker that is still at one that was taken back at an earlier look is ended; by now the
        cluster knows that nobody waits for it, and gives it to no other.
        """
        self._looked = now = time.monotonic()
        told = self._client.run(_at_work, on_error="ignore")
        at = {key: address for address, keys in told.items() for key in keys}
        self._since = {key: self._since.get(key, now) for key in at}
        for key in self._taken_back & at.keys():
            self._client.run(_leave, _here(), workers=[at[key]], on_error="ignore")
        late = [task for task in on_way if now - self._since.get(task.key, now) > MOST_FIELD_S]
        self._taken_back |= {task.key for task in late}
        return late

    def finish(self) -> None:
        """End the workers that are still at what was taken back last."""
        if self._taken_back:
            time.sleep(KNOWN_S)
            self.look({})


def _at_work(dask_worker: Any) -> list[str]:  # noqa: ANN401 - as above
    """Give what a worker is at."""
    return [task.key for task in dask_worker.state.executing]


def _here() -> tuple[str, int]:
    """Tell this process from any other."""
    return socket.gethostname(), os.getpid()


def _leave(caller: tuple[str, int]) -> None:
    """End this worker's process once it has answered, unless it is the one that asks for it."""
    if caller != _here():
        threading.Timer(0.1, os._exit, (1,)).start()


def _why(task: Any) -> str:  # noqa: ANN401 - as above
    """Say why fields could not be laid on the cluster."""
    from distributed import KilledWorker  # noqa: PLC0415 - heavy to load

    error = task.exception() if task.status == "error" else None
    if error is None or isinstance(error, KilledWorker):
        return "its workers were lost; did memory run out?"
    told = f"{type(error).__name__}: {shortened(str(error))}"
    return f"the cluster could not lay it ({told}); use --jobs and a new folder"


def _some(take: Take) -> tuple[Feature, ...]:
    """Take a few fields; none where none can be had now."""
    found: list[Feature] = []
    while len(found) < FIELDS_A_TASK and (one := take()) is not None:
        found.append(one)
    return tuple(found)
