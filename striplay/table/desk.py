"""Hold one client's desk: the plan as a text, what was done to it, and its layout."""

import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import shapely

from striplay.choosing.compare import Side
from striplay.errors import OutputError, PlanError
from striplay.files.folder import make_new, replace_file
from striplay.files.plan import files_outside, plan_in, read_text, tables_in
from striplay.files.plan_changes import Held, with_changes
from striplay.flow import lay_on_ground, read_ground
from striplay.ground import Ground
from striplay.kept import Kept
from striplay.laid_plan import Layout
from striplay.limits import MAX_BINARY_BYTES
from striplay.page.shapes import areas_of
from striplay.plain import plain
from striplay.plan.models import Plan
from striplay.plan.typed import exact_length
from striplay.table.answer import laid_answer
from striplay.table.changed import changed_words, differing
from striplay.table.offers import Changes, chosen, crops_offered, offers_of
from striplay.units import HEADING_DIGITS, LENGTH, format_area

MOST_STEPS = 500
"""So many steps can be undone."""
MOST_LAID = 8
"""So many layouts are kept to go back and on to: memory bounds it."""


@dataclass(frozen=True)
class History:
    """Texts of a plan, one a step, and which of them is on the table.

    Attributes:
        texts: the texts, the oldest first.
        at: the place of the one on the table.
        stroke: of a drag, or of a key held, that made it; None where of neither.
    """

    texts: tuple[str, ...]
    at: int = 0
    stroke: int | None = None

    @property
    def text(self) -> str:
        """The plan on the table."""
        return self.texts[self.at]

    @property
    def can_undo(self) -> bool:
        """Whether there is a step before."""
        return self.at > 0

    @property
    def can_redo(self) -> bool:
        """Whether there is a step after."""
        return self.at < len(self.texts) - 1

    def put(self, text: str, stroke: int | None = None) -> "History":
        """Go a step on; changes of one stroke are one step."""
        if text == self.text:
            return self
        kept = self.at if stroke is not None and stroke == self.stroke and self.at else self.at + 1
        texts = (*self.texts[:kept], text)[-MOST_STEPS:]
        return History(texts, len(texts) - 1, stroke)

    def moved(self, steps: int) -> "History":
        """Go steps on or back, as far as there are."""
        at = min(max(self.at + steps, 0), len(self.texts) - 1)
        return replace(self, at=at, stroke=None)


@dataclass(frozen=True)
class Laid:
    """A plan's text laid.

    Attributes:
        text: the plan's.
        layout: what came of it.
    """

    text: str
    layout: Layout = field(repr=False)

    @cached_property
    def tables(self) -> dict[str, Any]:
        """The plan as written."""
        return tables_in(self.text, self.layout.plan.path.name)

    @cached_property
    def side(self) -> Side:
        """The layout to be held against another."""
        return Side(self.layout.plan.title, self.layout.plan.path.name, self.layout)


def is_searched(plan: Plan) -> bool:
    """Tell whether a plan leaves headings or blocks to be searched for, which takes long."""
    if plan.blocks == "suggest" or any(block.heading == "best" for block in plan.blocks):
        return True
    return plan.direction.heading == "best" and not plan.curved and not plan.blocks


def with_found(text: str, layout: Layout) -> str:
    """Give a plan's text with the heading and the offset that a search found for its one block."""
    plan, choice = layout.plan, layout.laid.blocks[0].choice
    if choice is None or plan.blocks or plan.curved:
        return text
    found: Changes = {
        "direction.heading": round(choice.heading_deg, HEADING_DIGITS),
        "direction.offset": exact_length(choice.offset_m, plan.units),
    }
    return with_changes(text, found, plan.path.name)


@dataclass
class Grounds:
    """The ground of a desk's plan, read again only where what it is read from changes."""

    plan: Plan | None = None
    ground: Ground | None = None

    def of(self, plan: Plan) -> Ground:
        """Give the ground of a plan; errors as `read_ground`."""
        last = self.plan
        same = last is not None and (last.path.parent, last.field, last.obstacles, last.units) == (
            plan.path.parent, plan.field, plan.obstacles, plan.units,
        )  # fmt: skip
        if self.ground is None or not same:
            self.ground = read_ground(plan)
            self.plan = plan
        return self.ground

    def kept(self, plan: Plan, ground: Ground) -> None:
        """Take ground that was read elsewhere."""
        self.plan, self.ground = plan, ground


def read_for_table(text: str, path: Path, allowed: frozenset[str]) -> Plan:
    """Read a plan's text for the table.

    Args:
        text: the plan's.
        path: where it is, or is to be.
        allowed: what is told of files outside its folder that the plan opened names already.

    Raises:
        PlanError: as `read_plan`; or it names a file outside the plan's folder that the plan
            opened does not name.
    """
    plan = plan_in(text, path)
    outside = [str(one) for one in files_outside(plan) if str(one) not in allowed]
    if outside:
        said = [f"{one}; at the table a plan reads files of its folder alone" for one in outside]
        raise PlanError(path.name, said)
    return plan


class Desk:
    """What one client has on the table.

    Attributes:
        path: the file of the plan, there or not yet.
        history: the plan's texts; None before there is a plan.
        saved: the saved plan laid; None where there is none.
        now: the plan on the table laid; None before it is.
        crops: the crops and mixtures offered so far.
        on_disk: the text of the plan's file as it was read or written last; None without one.
    """

    def __init__(self, path: Path, allowed: frozenset[str] = frozenset()) -> None:
        """Begin with an empty table."""
        self.path, self.allowed = path, allowed
        self.history: History | None = None
        self.saved: Laid | None = None
        self.now: Laid | None = None
        self.crops: tuple[str, ...] = ()
        self.grounds = Grounds()
        self.offers: dict[str, Any] = {}
        self.on_disk: str | None = None
        self._known: dict[str, Laid] = {}
        self._held: Held = {}
        self._read = Kept(1)

    def read(self, text: str) -> Plan:
        """Read a text as the plan of this desk; errors as `read_for_table`."""
        path, allowed = self.path, self.allowed
        return self._read.once("plan", (text, path), lambda: read_for_table(text, path, allowed))

    def write(self, path: Path, text: str) -> None:
        """Write a text as a plan, whole or not at all, and work on that file from then on.

        Raises:
            OutputError: another plan is there, or something else; or the plan on the table was
                changed by someone else since it was read.
            WriteError: it can't be written.
        """

        def write(fresh: Path) -> None:
            fresh.write_text(text, encoding="utf-8")

        own = path == self.path and self.on_disk is not None
        if own and path.exists():
            if read_text(path) != self.on_disk:
                told = "was changed in the folder since it was opened; give another name"
                raise OutputError(f"{path.name}: {told}")
            replace_file(path, write)
        elif not make_new(path, write):
            raise OutputError(f"{path.name}: exists already; give another name")
        self.path, self.on_disk = path, text

    def changed(self, changes: Mapping[str, Any]) -> str:
        """Give the text on the table with some keys changed; errors as `with_changes`."""
        assert self.history is not None  # noqa: S101 - the session asks for a plan first
        return with_changes(self.history.text, changes, self.path.name, self._held)

    def known(self, text: str) -> Laid | None:
        """Give a text laid where it is on the table, saved, or was laid lately; else None."""
        for one in (self.now, self.saved):
            if one is not None and one.text == text:
                return one
        plan, known = self.read(text), self._known.get(text)
        ground = self.grounds.of(plan)
        if known is not None and known.layout.ground is ground and known.layout.plan == plan:
            return known
        return None

    def laid(self, text: str) -> Laid:
        """Lay a text; one that is known is not laid again."""
        known = self.known(text)
        if known is not None:
            return known
        plan = self.read(text)
        found = Laid(text, lay_on_ground(plan, self.grounds.of(plan)))
        self.keep(found)
        return found

    def keep(self, laid: Laid) -> None:
        """Keep what is laid, so that to undo and redo need not lay it again."""
        while len(self._known) >= MOST_LAID:
            self._known.pop(next(iter(self._known)), None)
        self._known[laid.text] = laid

    def refiled(self, laid: Laid) -> Laid:
        """Give the same layout, of the file in the same folder that is worked on now."""
        return Laid(laid.text, replace(laid.layout, plan=self.read(laid.text)))

    def begin(self, laid: Laid, *, saved: bool) -> None:
        """Put a plan on the table, nothing done to it yet."""
        self.grounds.kept(laid.layout.plan, laid.layout.ground)
        self.history, self.now = History((laid.text,)), laid
        self.keep(laid)
        self.saved = laid if saved else None
        self.crops = ()

    def offers_sent(self) -> dict[str, Any]:
        """Give what is offered as it is sent; what was found of systems stays."""
        assert self.now is not None  # noqa: S101 - the session asks for a plan first
        plan = self.now.layout.plan
        self.crops = crops_offered(plan, self.crops)
        systems = self.offers.get("systems", [])
        self.offers = offers_of(plan, self.now.tables, self.crops) | {"systems": systems}
        return self.offers_said(self.offers)

    def offers_said(self, offers: Mapping[str, Any]) -> dict[str, Any]:
        """Give offers as they are sent, and which of them is on the table."""
        assert self.now is not None  # noqa: S101 - nothing is offered of an empty table
        said = chosen(offers, self.now.layout, self.now.tables)
        return {"say": "offers", **offers, "chosen": said}

    def answer(self, number: int, began_s: float) -> dict[str, Any]:
        """Give the answer for the plan on the table.

        Args:
            number: of what it answers; 0 where that is nothing of the page's.
            began_s: when that came, by `time.perf_counter`.
        """
        assert self.now is not None and self.history is not None  # noqa: S101, PT018 - as above
        now, saved = self.now, self.saved
        told = laid_answer(now.side, None if saved is None else saved.side, self.crops)
        return {
            "say": "answer",
            "number": number,
            **told,
            "chosen": chosen(self.offers, now.layout, now.tables),
            "is_saved": saved is not None,
            "changed": [] if saved is None else differing(saved.tables, now.tables),
            "changed_words": "" if saved is None else changed_words(saved.tables, now.tables),
            "can_undo": self.history.can_undo,
            "can_redo": self.history.can_redo,
            "document": now.text,
            "milliseconds": round(1e3 * (time.perf_counter() - began_s), 1),
        }


def ground_sent(path: Path, plan: Plan | None, ground: Ground | None) -> dict[str, Any]:
    """Give a plan's ground as it is sent; an empty one where there is no plan."""
    if plan is None or ground is None:
        told: dict[str, Any] = {
            "title": "", "file": "", "units": "us", "empty": True,
            "field": [], "obstacles": [], "area_text": "", "where_text": "",
        }  # fmt: skip
    else:
        told = {
            "title": plain(plan.title),
            "file": plain(path.name),
            "units": plan.units,
            "empty": False,
            "field": _areas(ground.outline),
            "obstacles": _areas(ground.obstacles),
            "area_text": format_area(ground.outline.area, plan.units),
            "where_text": where_on_earth(ground.plane.latitude_deg, ground.plane.longitude_deg),
        }
    lengths_m = {unit: meters for unit, (meters, _) in LENGTH.factors.items()}
    return {"say": "ground", **told, "lengths_m": lengths_m, "most_bytes": MAX_BINARY_BYTES}


def where_on_earth(latitude_deg: float, longitude_deg: float) -> str:
    """Say where on the earth a field lies, so that a sign that is wrong is seen.

    >>> where_on_earth(41.23, -96.5)
    '41.2\N{DEGREE SIGN} north, 96.5\N{DEGREE SIGN} west'
    """
    each = ((latitude_deg, "north", "south"), (longitude_deg, "east", "west"))
    return ", ".join(
        f"{abs(degrees):.1f}\N{DEGREE SIGN} {up if degrees >= 0 else down}"
        for degrees, up, down in each
    )


def _areas(geometry: shapely.Geometry) -> list[Any]:
    return areas_of(shapely.get_parts(geometry))
