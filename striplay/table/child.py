"""Do long work in a process of its own: it tells how far it is, and can be ended at any moment."""

import asyncio
import logging
import multiprocessing
import os
import signal
import threading
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

from striplay.errors import StriplayError
from striplay.plain import plain

METHOD = "forkserver" if "forkserver" in multiprocessing.get_all_start_methods() else "spawn"
"""How processes begin: forked from one that has loaded all and holds nothing, where there is one."""
WORK = "striplay.table.long_work"
"""The module that is loaded in it."""

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
    """What long work tells: what it is doing, its result, or why there is none: refused, or a fault."""

    doing: str = ""
    share: float | None = None
    result: Any = None
    refused: tuple[str, ...] | None = None
    fault: str = ""
    done: bool = False


def warm_up() -> None:
    """Load the engine where long work is forked from, so that the first need not wait for it."""
    if METHOD == "forkserver":
        from multiprocessing import forkserver  # noqa: PLC0415 - no such module on Windows

        multiprocessing.set_forkserver_preload([WORK])
        forkserver.ensure_running()


async def in_child(
    waiting: ThreadPoolExecutor, work: Callable[..., Any], *given: Any, tell: Tell | None = None
) -> Any:  # noqa: ANN401 - whatever the work gives
    """Do work in a process of its own; a caller that is cancelled ends it.

    Args:
        waiting: threads to wait in.
        work: a function of a module.
        given: its arguments.
        tell: is told what is being done.

    Raises:
        StriplayError: as the work.
        LongWorkError: a fault.
    """
    loop = asyncio.get_running_loop()
    context = multiprocessing.get_context(METHOD)
    here, there = context.Pipe()
    process = context.Process(target=_work, args=(there, work, given), daemon=True)
    await loop.run_in_executor(waiting, process.start)
    there.close()
    try:
        while True:
            try:
                told: Told = await loop.run_in_executor(waiting, here.recv)
            except (EOFError, OSError):
                raise LongWorkError("the work ended before it was done") from None
            if told.refused is not None:
                raise StriplayError("\n".join(told.refused))
            if told.fault:
                raise LongWorkError(told.fault)
            if told.done:
                return told.result
            if tell is not None:
                await tell(told.doing, told.share)
    finally:
        process.kill()
        here.close()


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
