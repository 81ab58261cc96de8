"""Do long work in a process of its own: it tells how far it is, and can be ended at any moment."""

import asyncio
import logging
import multiprocessing
import os
import signal
import threading
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any, TypeVar

from striplay.errors import StriplayError
from striplay.plain import plain

METHOD = "forkserver" if "forkserver" in multiprocessing.get_all_start_methods() else "spawn"
"""How processes begin: forked from one that has loaded all, where there is such a way."""
WORK = "striplay.table.long_work"
"""The module that is loaded in it."""

Found = TypeVar("Found")
Tell = Callable[[str, float | None], Awaitable[None]]


def faults_of(error: StriplayError) -> list[str]:
    """Give what a refusal says, a line each."""
    found = getattr(error, "faults", ()) or str(error).splitlines()
    return [plain(str(one).strip()) for one in found]


def own_fault(error: Exception) -> str:
    """Say that a fault of striplay's own stopped something."""
    if isinstance(error, MemoryError):
        return "memory ran out; a smaller field, or fewer and wider strips, would do"
    return f"stopped by a fault of striplay's own ({type(error).__name__}); please report it"


class LongWorkError(Exception):
    """Long work ended by a fault of its own, or was ended from outside."""


@dataclass(frozen=True)
class Told:
    """What long work tells: what it is doing, its result, or why there is none."""

    doing: str = ""
    share: float | None = None
    result: Any = None
    refused: tuple[str, ...] | None = None
    fault: str = ""
    done: bool = False


class Workers:
    """Processes for long work, as many at a time as there are processors; the rest waits."""

    def __init__(self, most: int) -> None:
        """Take threads to wait in.

        Args:
            most: how much work may be asked for at a time.
        """
        self._threads = ThreadPoolExecutor(most, "wait")
        self._free = asyncio.Semaphore(os.cpu_count() or 1)

    async def warm_up(self) -> None:
        """Load the engine where work is forked from, so that the first need not wait for it."""
        await asyncio.get_running_loop().run_in_executor(self._threads, _warm_up)

    def close(self) -> None:
        """Take no more work."""
        self._threads.shutdown(wait=False, cancel_futures=True)

    async def do(
        self, work: Callable[..., Found], *given: object, tell: Tell | None = None
    ) -> Found:
        """Do work in a process of its own; a caller that is cancelled ends it.

        Args:
            work: a function of a module.
            given: its arguments.
            tell: is told what is being done.

        Raises:
            StriplayError: as the work.
            LongWorkError: a fault.
        """
        loop = asyncio.get_running_loop()
        told: asyncio.Queue[Told] = asyncio.Queue()

        def put(one: Told) -> None:
            with suppress(RuntimeError):  # the server has ended
                loop.call_soon_threadsafe(told.put_nowait, one)

        async with self._free:
            context = multiprocessing.get_context(METHOD)
            here, there = context.Pipe()
            process = context.Process(  # type: ignore[attr-defined]  # each kind has it
                target=_work, args=(there, work, given), daemon=True
            )
            try:
                await loop.run_in_executor(self._threads, _start, process, there)
                loop.run_in_executor(self._threads, _listen, here, put)
                while True:
                    one = await told.get()
                    if one.refused is not None:
                        raise StriplayError("\n".join(one.refused))
                    if one.fault:
                        raise LongWorkError(one.fault)
                    if one.done:
                        found: Found = one.result
                        return found
                    if tell is not None:
                        await tell(one.doing, one.share)
            finally:
                if process.pid is not None:
                    process.kill()


def _warm_up() -> None:
    if METHOD == "forkserver":
        from multiprocessing import forkserver  # noqa: PLC0415 - no such module on Windows

        multiprocessing.set_forkserver_preload([WORK])
        forkserver.ensure_running()


def _start(process: Any, there: Connection) -> None:  # noqa: ANN401 - each way has its own
    """Start a process, and keep none of its end."""
    process.start()
    there.close()


def _listen(here: Connection, put: Callable[[Told], None]) -> None:
    """Pass on what a process tells, until it ends."""
    with here:
        while True:
            try:
                put(here.recv())
            except (EOFError, OSError):
                put(Told(fault="the work was ended before it was done"))
                return


def _work(back: Connection, work: Callable[..., Any], given: tuple[Any, ...]) -> None:
    """Do work, and tell of it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the server ends it
    threading.Thread(target=_end_with, args=(back,), daemon=True).start()
    log = logging.getLogger("striplay")
    log.setLevel(logging.INFO)
    log.propagate = False
    log.addHandler(_Teller(back))
    try:
        told = Told(result=work(*given), done=True)
    except StriplayError as error:
        told = Told(refused=tuple(faults_of(error)))
    except Exception as error:  # noqa: BLE001 - whatever it is, the server goes on
        told = Told(fault=own_fault(error))
    back.send(told)


def _end_with(back: Connection) -> None:
    """End this process with the server, however that ends."""
    try:
        back.recv()
    except (EOFError, OSError):
        os._exit(1)


class _Teller(logging.Handler):
    """Tells what is logged."""

    def __init__(self, back: Connection) -> None:
        super().__init__()
        self.back = back

    def emit(self, record: logging.LogRecord) -> None:
        self.back.send(Told(doing=record.getMessage(), share=getattr(record, "share", None)))
