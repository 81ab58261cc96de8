"""Lay fields on a dask cluster; a worker that is lost costs time, and no field."""

from collections import deque
from collections.abc import Callable, Generator, Iterator
from contextlib import contextmanager
from typing import Any

from striplay.errors import OutputError
from striplay.many.crew import Take
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


def _laid(client: Any, template: Template, take: Take) -> Generator[Outcome, None, None]:  # noqa: ANN401 - as above
    """Give what comes of each field, in any order."""
    from distributed import as_completed  # noqa: PLC0415 - heavy to load

    ahead = TASKS_AHEAD * max(1, sum(client.nthreads().values()))
    again: deque[tuple[Feature, ...]] = deque()
    tried: dict[int, int] = {}
    on_way: dict[Any, tuple[Feature, ...]] = {}
    coming = as_completed(loop=client.loop)

    def fill() -> None:
        while len(on_way) < ahead:
            some = again.popleft() if again else _some(take)
            if not some:
                return
            task = client.submit(lay_some, template, some, pure=False)
            on_way[task] = some
            coming.add(task)

    fill()
    while on_way:
        task = next(coming)
        some = on_way.pop(task)
        if task.status == "finished":
            yield from task.result()
        else:  # its workers were lost, more than dask bears, or it could not be run there
            why = _why(task)
            for one in some:
                count = tried[one.number] = tried.get(one.number, 0) + (len(some) == 1)
                if count < TRIES:
                    again.append((one,))
                    continue
                name = template.name_of(one.number, one.values)
                yield refused(one.number, name, why)
        task.release()
        fill()


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
