"""A desk of the planning table with a small field, its talk without a network or processes."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from fields import square, write_plan_for

from striplay.files.plan import plan_in
from striplay.flow import lay, lay_on_ground, read_ground
from striplay.table.answer import laid_answer
from striplay.table.desk import Desk, Laid
from striplay.table.session import Begin, Session

SIDE_FT = 900


class Here:
    """Does long work where it is asked for, so that a test need not wait for a process."""

    def __init__(self):
        self.done = []

    async def do(self, work, *given, tell=None):
        self.done.append(work.__name__)
        if tell is not None:
            await tell("working", None)
        await asyncio.sleep(0)
        return work(*given)


class Talk:
    """A session, and all that it said."""

    def __init__(self, path: Path | None, folder: Path | None = None, first: dict | None = None):
        self.said, self.workers = [], Here()
        self.quick = ThreadPoolExecutor(2)
        self.loop = asyncio.new_event_loop()
        begin, text = None, None
        if path is not None:
            text = path.read_text()
            plan = plan_in(text, path)
            ground = read_ground(plan)

            async def laid():
                await asyncio.sleep(0.2 if first else 0)
                return Laid(text, lay_on_ground(plan, ground))

            begin = Begin(plan, ground, on_disk=text, laid=laid)
        desk = Desk(path or folder / "plan.toml")
        self.session = Session(desk, begin, self._hear, self.quick, self.workers)
        self.run(self._begin(first))
        self.settle()

    async def _begin(self, first):
        """Begin; what a page asks first comes at once."""
        await self.session.begin()
        if first is not None:
            await self.session.take(first)

    async def _hear(self, message):
        self.said.append(message)

    def run(self, work):
        """Wait for work, in a thread of its own: a browser's tests leave a loop in this one."""
        with ThreadPoolExecutor(1) as thread:
            return thread.submit(self.loop.run_until_complete, work).result()

    def settle(self):
        """Wait until long work is done."""
        task = self.session._long
        if task is not None:
            self.run(asyncio.gather(task, return_exceptions=True))

    def ask(self, do, **more):
        """Ask for something, and give what is said to it."""
        before = len(self.said)
        self.run(self.session.take({"do": do, **more}))
        self.settle()
        return self.said[before:]

    def answer(self, do, **more):
        """Ask for something, and give the answer or the refusal."""
        return [m for m in self.ask(do, **more) if m["say"] in {"answer", "refused"}][-1]

    def last(self, say):
        return [m for m in self.said if m["say"] == say][-1]

    def close(self):
        self.run(self.session.end())
        self.loop.close()
        self.quick.shutdown()


def write_small(folder: Path, **parts: str) -> Path:
    """Write a plan for a small square, its heading stated."""
    return write_plan_for(folder, square(SIDE_FT), **parts)


def afresh(talk: Talk, text: str) -> dict:
    """Lay a text from nothing kept, and give what an answer tells of it."""
    desk = talk.session.desk
    laid = Laid(text, lay(plan_in(text, desk.path)))
    return laid_answer(laid.side, None if desk.saved is None else desk.saved.side, desk.crops)
