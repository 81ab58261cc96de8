"""Talk with one page: take what it asks, answer the newest, and let nothing long hold it up."""

import asyncio
import base64
import binascii
import shlex
import time
from collections.abc import Awaitable, Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from striplay.errors import StriplayError
from striplay.ground import Ground
from striplay.laid_plan import Layout
from striplay.limits import MAX_SHOWN
from striplay.plain import plain
from striplay.plan.models import Plan
from striplay.table.answer import driven_answer, passed_answer
from striplay.table.child import LongWorkError, Workers, faults_of, own_fault
from striplay.table.desk import Desk, History, Laid, ground_sent, is_searched, with_found
from striplay.table.figures import Driven
from striplay.table.long_work import drive_whole, judge_whole, lay_whole
from striplay.table.names import check_plan_name
from striplay.table.offers import system_offer
from striplay.table.opening import draw_boundary, open_boundary

Message = Mapping[str, Any]
Send = Callable[[dict[str, Any]], Awaitable[None]]
QUIET_S = 0.15, 0.3
"""So long without a change its passes are laid side by side, and so much longer put in order: while
a heading is dragged, neither."""


class PageLeftError(Exception):
    """The page has left, or takes nothing any more."""


@dataclass(frozen=True)
class Begin:
    """What a desk begins with.

    Attributes:
        plan: the plan.
        ground: its field.
        on_disk: its file's text, to be held against; None where there is no file.
        laid: gives it laid, once for all sessions.
    """

    plan: Plan
    ground: Ground
    on_disk: str | None
    laid: Callable[[], Awaitable[Laid]]


class Session:
    """One page's talk: a desk, and the long work under way for it.

    Attributes:
        desk: what is on the table.
    """

    def __init__(
        self, desk: Desk, begin: "Begin | None", send: Send, quick: ThreadPoolExecutor,
        workers: Workers,
    ) -> None:  # fmt: skip
        """Sit down at a desk.

        Args:
            desk: an empty one.
            begin: what it begins with; None for an empty table.
            send: sends a message to the page; raises `PageLeftError` where it has left.
            quick: threads that answer.
            workers: do long work.
        """
        self.desk, self._begin, self._send = desk, begin, send
        self._quick, self._workers = quick, workers
        self._long: asyncio.Task[None] | None = None
        self._after: asyncio.Task[None] | None = None
        self._driven: dict[str, Driven] = {}
        self._answered = 0
        self._landing = asyncio.Lock()
        """Held while what was found is put on the table, or saved: neither is cut in two."""

    async def begin(self) -> None:
        """Tell the page what is on the table."""
        begin, desk = self._begin, self.desk
        if begin is None:
            await self._send(ground_sent(desk.path, None, None))
            return
        desk.on_disk = begin.on_disk
        await self._send(ground_sent(desk.path, begin.plan, begin.ground))
        await self._start_long(partial(self._open_saved, begin), 0)

    async def _send_ground(self) -> None:
        now = self.desk.now
        assert now is not None  # noqa: S101 - all that answers has put a plan there
        layout = now.layout
        await self._send(ground_sent(self.desk.path, layout.plan, layout.ground))

    async def end(self) -> None:
        """End all work under way."""
        await self._stop_long()
        await self._stop_after()

    async def take(self, message: Message) -> None:
        """Do what the page asks; a refusal is told, and leaves all as it was."""
        began_s = time.perf_counter()
        does = self._doings.get(str(message.get("do")), Session._nothing)
        number = message.get("number")
        number = number if isinstance(number, int) else 0
        await self._or_refuse(partial(does, self, message, number, began_s), number)

    async def _nothing(self, message: Message, _: int, __: float) -> None:
        told = plain(str(message.get("do")))[:MAX_SHOWN]
        raise StriplayError(f"{told}: is nothing that can be done here")

    async def _refuse(self, number: int, faults: list[str]) -> None:
        await self._send({"say": "refused", "number": number, "faults": faults})

    async def _in_thread(self, work: Callable[..., Any], *given: Any) -> Any:  # noqa: ANN401
        return await asyncio.get_running_loop().run_in_executor(self._quick, work, *given)

    async def _change(self, message: Message, number: int, began_s: float) -> None:
        changes = message.get("changes")
        if not isinstance(changes, dict):
            raise StriplayError("changes: are no table of keys")
        self._check_plan()
        stroke = message.get("stroke")
        text = await self._in_thread(self.desk.changed, changes)
        await self._go_to(text, number, began_s, stroke if isinstance(stroke, int) else None)

    async def _undo(self, _: Message, number: int, began_s: float) -> None:
        await self._step(-1, number, began_s)

    async def _redo(self, _: Message, number: int, began_s: float) -> None:
        await self._step(1, number, began_s)

    async def _step(self, steps: int, number: int, began_s: float) -> None:
        self._check_plan()
        history = self.desk.history
        assert history is not None  # noqa: S101 - checked
        moved = history.moved(steps)
        await self._stop_long()
        if await self._in_thread(self._takes_long, moved.text):
            await self._start_long(partial(self._search_step, moved, number, began_s), number)
            return
        await self._go_in(moved, await self._in_thread(self.desk.laid, moved.text), number, began_s)

    def _takes_long(self, text: str) -> bool:
        """Tell whether a text leaves something to be searched for, and was not laid lately."""
        return is_searched(self.desk.read(text)) and self.desk.known(text) is None

    async def _search_step(self, moved: History, number: int, began_s: float) -> None:
        """Lay a step that takes long, and put it on the table."""
        _, layout = await self._searched(moved.text)
        await self._go_in(moved, Laid(moved.text, layout), number, began_s)

    async def _go_in(self, moved: History, laid: Laid, number: int, began_s: float) -> None:
        """Put a step of the history on the table, and answer."""
        async with self._landing:
            before = self.desk.now
            self.desk.history, self.desk.now = moved, laid
            self.desk.keep(laid)
            await self._answer(number, began_s, before)

    async def _reset(self, _: Message, number: int, began_s: float) -> None:
        if self.desk.saved is None:
            raise StriplayError("there is no saved plan to go back to")
        await self._go_to(self.desk.saved.text, number, began_s)

    async def _document(self, message: Message, number: int, began_s: float) -> None:
        text = message.get("toml")
        if not isinstance(text, str):
            raise StriplayError("toml: is no text")
        if self.desk.history is None and self._begin is not None:
            handed = partial(self._hand_back, self._begin, text, number, began_s)
            await self._start_long(handed, number)
            return
        await self._go_to(text, number, began_s)

    async def _best(self, _: Message, number: int, began_s: float) -> None:
        self._check_plan()
        asked = {"direction.heading": "best", "direction.offset": None}
        text = await self._in_thread(self.desk.changed, asked)
        await self._go_to(text, number, began_s)

    async def _cancel(self, _: Message, __: int, ___: float) -> None:
        if await self._stop_long():
            await self._send({"say": "progress", "doing": "", "share": 1})
            await self._send({"say": "lost", "words": "the search was ended; nothing is changed"})
            self._drive_on()

    async def _save(self, message: Message, number: int, _: float) -> None:
        self._check_plan()
        path = check_plan_name(message.get("name"), self.desk.path.parent)
        async with self._landing:
            now = self.desk.now
            assert now is not None  # noqa: S101 - checked
            await self._in_thread(self.desk.write, path, now.text)
            kept = await self._in_thread(self.desk.refiled, now)
            self.desk.now = self.desk.saved = kept
            self.desk.keep(kept)
            said = {"say": "saved", "name": plain(path.name), "where": plain(str(path.parent))}
            await self._send({**said, "command": _command_to_lay(path)})
            await self._send_ground()
            await self._answer(number, time.perf_counter(), kept)

    async def _open(self, message: Message, number: int, _: float) -> None:
        try:
            data = base64.b64decode(str(message.get("bytes")), validate=True)
        except (binascii.Error, ValueError):
            raise StriplayError("the file did not come whole; open it again") from None
        opened = partial(open_boundary, self.desk, str(message.get("name")), data, self._workers)
        await self._start_long(partial(self._boundary, opened, number), number)

    async def _draw(self, message: Message, number: int, _: float) -> None:
        drawn = partial(draw_boundary, self.desk, message, self._workers)
        await self._start_long(partial(self._boundary, drawn, number), number)

    _doings: Mapping[str, Callable[["Session", Message, int, float], Awaitable[None]]] = {
        "change": _change,
        "undo": _undo,
        "redo": _redo,
        "reset": _reset,
        "save": _save,
        "best": _best,
        "cancel": _cancel,
        "open": _open,
        "draw": _draw,
        "document": _document,
    }

    def _check_plan(self) -> None:
        if self.desk.history is None:
            raise StriplayError("there is no field on the table; open a boundary, or draw one")

    async def _go_to(
        self, text: str, number: int, began_s: float, stroke: int | None = None
    ) -> None:
        """Put a text on the table; one that leaves something to be searched for takes long."""
        if is_searched(await self._in_thread(self.desk.read, text)):
            await self._start_long(partial(self._search, text, number, began_s, stroke), number)
            return
        await self._stop_long()
        laid = await self._in_thread(self.desk.laid, text)
        await self._put(laid, number, began_s, stroke)

    async def _put(
        self, laid: Laid, number: int, began_s: float, stroke: int | None = None
    ) -> None:
        """Put a plan on the table as a step, and answer."""
        async with self._landing:
            desk, before = self.desk, self.desk.now
            if desk.history is None:
                desk.begin(laid, saved=False)
            else:
                desk.history = desk.history.put(laid.text, stroke)
                desk.now = laid
                desk.keep(laid)
            await self._answer(number, began_s, before)

    async def _answer(self, number: int, began_s: float, before: Laid | None) -> None:
        """Answer with what is on the table; what is offered goes before where it is other."""
        desk = self.desk
        assert desk.now is not None  # noqa: S101 - all that answers has put a plan there
        await self._stop_after()
        if before is None or desk.now.layout.ground is not before.layout.ground:
            desk.offers = {}  # systems were judged on the ground before
            await self._send_ground()
        if not desk.offers or before is None or _offered_by(before) != _offered_by(desk.now):
            await self._send(await self._in_thread(desk.offers_sent))
        await self._send(await self._in_thread(desk.answer, number, began_s))
        self._answered = number
        self._drive_on()

    def _drive_on(self) -> None:
        """Begin to drive what is on the table, where that is not under way."""
        if self._after is None and self.desk.now is not None:
            self._after = asyncio.create_task(self._drive(self.desk.now, self._answered))

    async def _drive(self, laid: Laid, number: int) -> None:
        """Drive what is on the table, once nothing has changed for a while."""
        await asyncio.sleep(QUIET_S[0])
        try:
            passed = await self._in_thread(passed_answer, laid.layout)
            await self._send({"say": "driven", "number": number, **passed})
            await asyncio.sleep(QUIET_S[1])
            now = await self._driven_of(laid)
            saved = self.desk.saved
            there = None if saved is None else self._driven.get(saved.text)
            await self._send({"say": "driven", "number": number, **driven_answer(now, there)})
            if saved is not None and there is None:
                there = await self._driven_of(saved)
                await self._send({"say": "driven", "number": number, **driven_answer(now, there)})
            if not self.desk.offers["systems"]:
                await self._judge(laid)
        except PageLeftError:
            return
        except Exception as error:  # noqa: BLE001 - the page is told, and the desk stays
            with suppress(PageLeftError):
                told = "; ".join(_why(error))
                await self._send({"say": "lost", "words": f"not driven: {told}", "of": "driving"})

    async def _driven_of(self, laid: Laid) -> Driven:
        """Drive a plan; one that was driven is not driven again."""
        if laid.text not in self._driven:
            found = await self._workers.do(drive_whole, laid.layout)
            while len(self._driven) >= MOST_KEPT:
                self._driven.pop(next(iter(self._driven)))
            self._driven[laid.text] = found
        return self._driven[laid.text]

    async def _judge(self, laid: Laid) -> None:
        """Judge the five systems, and offer them."""
        layout = laid.layout
        found = await self._workers.do(judge_whole, layout.plan, laid.tables, layout.ground)
        offers = self.desk.offers | {"systems": [system_offer(one) for one in found]}
        await self._send(await self._in_thread(self.desk.offers_said, offers))
        self.desk.offers = offers  # the page has them, so they are not judged again

    async def _search(
        self, text: str, number: int, began_s: float, stroke: int | None = None
    ) -> None:
        """Lay a plan whose heading is searched for, and put what was found on the table."""
        found, layout = await self._searched(text)
        laid = Laid(text, layout) if found == text else await self._in_thread(self.desk.laid, found)
        await self._put(laid, number, began_s, stroke)

    async def _searched(self, text: str) -> tuple[str, Layout]:
        """Lay a text that leaves something to be searched for; give it with what was found."""
        desk = self.desk
        plan = await self._in_thread(desk.read, text)
        ground = await self._in_thread(desk.grounds.of, plan)
        layout = await self._workers.do(lay_whole, plan, ground, tell=self._tell)
        await self._send({"say": "progress", "doing": "", "share": 1})
        return await self._in_thread(with_found, text, layout), layout

    async def _open_saved(self, begin: "Begin") -> None:
        """Put the plan that the table was opened with on it."""
        began_s = time.perf_counter()
        if is_searched(begin.plan):
            await self._tell("searching for the heading that costs least", None)
        laid = await begin.laid()
        if is_searched(begin.plan):
            await self._tell("", 1.0)
        async with self._landing:
            self.desk.begin(laid, saved=begin.on_disk is not None)
            await self._answer(0, began_s, laid)

    async def _hand_back(self, begin: "Begin", text: str, number: int, began_s: float) -> None:
        """Put a plan that a page kept on the table, above the one that it was opened with."""
        await self._open_saved(begin)
        if is_searched(await self._in_thread(self.desk.read, text)):
            await self._search(text, number, began_s)
        else:
            await self._put(await self._in_thread(self.desk.laid, text), number, began_s)

    async def _boundary(self, opened: Callable[[], Awaitable[str]], number: int) -> None:
        """Put a plan for a boundary that was opened or drawn on the table."""
        began_s = time.perf_counter()
        text = await opened()
        await self._search(text, number, began_s)

    async def _tell(self, doing: str, share: float | None) -> None:
        await self._send({"say": "progress", "doing": plain(doing), "share": share})

    async def _start_long(self, work: Callable[[], Awaitable[None]], number: int) -> None:
        """Begin long work in the place of any other."""
        await self._stop_long()
        await self._stop_after()
        self._long = asyncio.create_task(self._or_leave(work, number))

    async def _or_leave(self, work: Callable[[], Awaitable[None]], number: int) -> None:
        with suppress(PageLeftError):  # who reads what it asks finds that out
            await self._or_refuse(work, number)

    async def _or_refuse(self, work: Callable[[], Awaitable[None]], number: int) -> None:
        """Do what was asked; a refusal is told, and leaves all as it was."""
        try:
            await work()
        except PageLeftError:
            raise
        except Exception as error:  # noqa: BLE001 - the page is told, and the desk stays
            await self._refuse(number, _why(error))
            self._drive_on()

    async def _stop_long(self) -> bool:
        """End the long work under way; tell whether there was any.

        What is just being put on the table is answered first, and was none.
        """
        async with self._landing:
            task, self._long = self._long, None
            return await _ended(task)

    async def _stop_after(self) -> None:
        task, self._after = self._after, None
        await _ended(task)


MOST_KEPT = 50
"""So many layouts' hours are kept."""


async def _ended(task: asyncio.Task[None] | None) -> bool:
    """End a task; tell whether it was under way."""
    if task is None or task.done():
        return False
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)
    return True


def _offered_by(laid: Laid) -> dict[str, Any]:
    """Give what of a plan its offers go by."""
    unlike = ("direction", "headland", "title", "cost")
    return {key: value for key, value in laid.tables.items() if key not in unlike}


def _command_to_lay(path: Path) -> str:
    """Write the command that lays a plan, so that a shell takes its name as it is.

    >>> _command_to_lay(Path("north 2.toml"))
    "striplay lay 'north 2.toml' -o 'north 2'"
    """
    plan, folder = (
        shlex.quote(f"./{name}" if name.startswith("-") else name)  # a dash begins an option
        for name in (path.name, path.stem)
    )
    return f"striplay lay {plan} -o {folder}"


def _why(error: Exception) -> list[str]:
    """Say why something was not done, a line each."""
    if isinstance(error, StriplayError):
        return faults_of(error)
    if isinstance(error, LongWorkError):
        return [plain(str(error))]
    if isinstance(error, OSError):
        return [plain(f"this computer refused it: {error.strerror or error}")]
    return [own_fault(error)]
