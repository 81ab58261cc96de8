"""Lay fields on worker processes of this machine; one that is killed costs at most one field.

Each worker gets a few fields at a time by a pipe and sends each outcome as it comes, so that the
parent knows which field a worker died of.
"""

import os
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Generator, Iterator
from multiprocessing import get_all_start_methods, get_context
from multiprocessing.connection import Connection, wait
from queue import SimpleQueue
from typing import TYPE_CHECKING

from striplay.limits import MOST_FIELD_BYTES, MOST_FIELD_S, MOST_FIELDS_A_WORKER
from striplay.many.field import OUT_OF_MEMORY, Feature, Outcome, lay_feature, refused
from striplay.many.template import Template

if TYPE_CHECKING:
    from multiprocessing.context import ForkServerContext, SpawnContext

AHEAD = 4
"""Fields that wait at a worker besides the one it lays, so that it need not wait for the parent."""
TRIES = 2
"""A field that so many workers end at is refused."""
LOOK_S = 1.0
"""So often it is looked whether a field takes too long."""
ALONE = "lay it alone with striplay lay"
TOO_LONG = f"took longer than {{:.0f}} minutes; {ALONE}"
"""Why a field that takes too long is refused."""
ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
"""What keeps the libraries of a worker to one core: there is a worker for each."""


Take = Callable[[], Feature | None]
"""Gives the next field; None where none is left, or where others must be done first."""


def lay_here(template: Template, take: Take) -> Generator[Outcome, None, None]:
    """Lay fields one after the other in this process, however long one takes."""
    while (feature := take()) is not None:
        yield lay_feature(template, feature)


def lay_by_crew(template: Template, take: Take, jobs: int) -> Generator[Outcome, None, None]:
    """Lay fields on worker processes.

    Args:
        template: what is asked of each.
        take: is asked for fields only as far ahead as workers need them.
        jobs: how many processes.

    Yields:
        What came of each, in any order.
    """
    crew = _Crew(template, take)
    try:
        for _ in range(jobs):
            crew.hire()
        yield from crew.work()
    finally:
        crew.dismiss()


class _Worker:
    """A worker process, and the fields it has."""

    def __init__(self, template: Template) -> None:
        context: ForkServerContext | SpawnContext = get_context("spawn")
        if "forkserver" in get_all_start_methods():
            context = get_context("forkserver")
            context.set_forkserver_preload([__name__])  # what it imports is imported once for all
        self.pipe, theirs = context.Pipe()
        self.process = context.Process(target=_work, args=(theirs, template), daemon=True)
        before = {name: os.environ.get(name) for name in ONE_THREAD}
        os.environ.update(dict.fromkeys(ONE_THREAD, "1"))
        try:
            self.process.start()
        finally:
            for name, value in before.items():
                if value is None:
                    del os.environ[name]
                else:
                    os.environ[name] = value
        theirs.close()
        self.fields: deque[Feature] = deque()
        self.given = 0
        self.since = time.monotonic()

    def give(self, feature: Feature) -> None:
        """Give it one more field."""
        if not self.fields:
            self.since = time.monotonic()
        self.fields.append(feature)
        self.given += 1
        self.pipe.send(feature)

    def end(self) -> None:
        """End it, whatever it does."""
        self.pipe.close()
        self.process.kill()
        self.process.join()


class _Crew:
    """The workers, and the fields that wait for them."""

    def __init__(self, template: Template, take: Take) -> None:
        self.template, self.take = template, take
        self.again: deque[Feature] = deque()
        self.tried: dict[int, int] = {}
        self.workers: list[_Worker] = []

    def hire(self) -> _Worker:
        """Take on one more worker."""
        self.workers.append(_Worker(self.template))
        return self.workers[-1]

    def dismiss(self) -> None:
        """End all of them."""
        for worker in self.workers:
            worker.end()
        self.workers.clear()

    def work(self) -> Iterator[Outcome]:
        """Give what comes of each field, until none is left."""
        while True:
            for worker in list(self.workers):
                self._fill(worker)
            busy = {worker.pipe: worker for worker in self.workers if worker.fields}
            if not busy:
                return
            for pipe in wait(list(busy), LOOK_S):
                yield from self._taken(busy[pipe])  # type: ignore[index]  # pipes were given
            for worker in list(self.workers):
                if worker.fields and time.monotonic() - worker.since > MOST_FIELD_S:
                    yield self._given_up(worker)

    def _fill(self, worker: _Worker) -> None:
        """Give a worker fields to do; one that has done many makes place for a fresh one."""
        while len(worker.fields) <= AHEAD and worker.given < MOST_FIELDS_A_WORKER:
            feature = self.again.popleft() if self.again else self.take()
            if feature is None:
                return
            try:
                worker.give(feature)
            except OSError:  # it is gone, which is seen as its outcome is waited for
                return
        if not worker.fields:
            self._fill(self._replace(worker))

    def _replace(self, worker: _Worker) -> _Worker:
        """Put a fresh worker in the place of one."""
        self.workers.remove(worker)
        worker.end()
        return self.hire()

    def _taken(self, worker: _Worker) -> Iterator[Outcome]:
        """Take an outcome; where the worker is gone, its fields go to another.

        So they do where its memory ran out: what it had taken before may be to blame.
        """
        try:
            outcome: Outcome | None = worker.pipe.recv()
        except (EOFError, OSError):
            outcome = None
        field = worker.fields.popleft()
        worker.since = time.monotonic()
        if outcome is not None and outcome.reason != OUT_OF_MEMORY:
            yield outcome
            return
        self.again.extend(worker.fields)
        self._replace(worker)
        count = self.tried[field.number] = self.tried.get(field.number, 0) + 1
        if count < TRIES:
            self.again.append(field)
            return
        told = "its worker process was ended, twice; did memory run out?"
        if outcome is not None:
            told = f"takes more than {MOST_FIELD_BYTES / 1e9:.0f} GB of memory; {ALONE}"
        yield refused(field.number, self._name(field), told)

    def _given_up(self, worker: _Worker) -> Outcome:
        """Refuse a field that takes too long."""
        slow = worker.fields.popleft()
        self.again.extend(worker.fields)
        self._replace(worker)
        return refused(slow.number, self._name(slow), TOO_LONG.format(MOST_FIELD_S / 60))

    def _name(self, feature: Feature) -> str:
        return self.template.name_of(feature.number, feature.values)


def _work(pipe: Connection, template: Template) -> None:
    """Lay the fields that come by a pipe until it ends; what a worker process does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent ends it
    _bound_memory()
    waiting: SimpleQueue[Feature | None] = SimpleQueue()
    # taken at once, so that neither end waits to send while the other does
    threading.Thread(target=_take, args=(pipe, waiting.put), daemon=True).start()
    while (feature := waiting.get()) is not None:
        try:
            pipe.send(lay_feature(template, feature))
        except OSError:
            return


def _bound_memory() -> None:
    """Let this process take no more memory than one field may, where its system can hold it to."""
    try:
        import resource  # noqa: PLC0415 - no such module on Windows
    except ImportError:
        return
    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    soft = MOST_FIELD_BYTES if hard == resource.RLIM_INFINITY else min(MOST_FIELD_BYTES, hard)
    resource.setrlimit(resource.RLIMIT_DATA, (soft, hard))


def _take(pipe: Connection, put: Callable[[Feature | None], None]) -> None:
    """Take fields from a pipe; None where it ends."""
    while True:
        try:
            put(pipe.recv())
        except (EOFError, OSError):
            put(None)
            return
