"""Tell the adviser whether strips pay: two pages, the answer and what would change it."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable

from striplay.economics.chances import Against
from striplay.economics.edges import Response
from striplay.economics.pay import BLOCKS, CropPay, Pay
from striplay.economics.variant import Pair
from striplay.economics.worth import shown_yield
from striplay.pay_report import (
    alone_words,
    area_of,
    assumed_words,
    chance_words,
    free_words,
    measured_words,
    money,
    money_range,
    needed_words,
    percent_range,
    price_words,
    ratio_range,
    unsure_words,
    width_lines,
)
from striplay.sheets.appendix_sheets import MARKED
from striplay.sheets.book import Book
from striplay.sheets.flow import (
    Column,
    Story,
    begin,
    gap,
    heading,
    paragraph,
    table,
    together,
)
from striplay.sheets.pay_charts import tornado_chart, widths_chart
from striplay.sheets.style import TEXT_PT
from striplay.units import percent, said

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

BARS, LEAST_BARS = 9, 4
"""Bars of the tornado of two crops, and at least of more; the rest move the answer less."""
PAIR = 2
STUDIES = 16
"""Lines of studies at most; the rest stand in `striplay pay --json`."""
CROPS = 8
"""Crops in a table at most, likewise."""


def pay_story(book: Book, layout: "Layout", pay: Pay) -> Story:
    """Give the two pages of the appendix that say whether strips pay.

    Args:
        book: their paper, units and ink.
        layout: the field as laid.
        pay: what `striplay.pay` gives of it.
    """
    return [*_answer(book, pay), *_what_changes(book, layout, pay)]


def answer_words(pay: Pay) -> str:
    """Say in a sentence what strips leave against blocks, and against the best crop alone."""
    area_m2, area = area_of(pay.plan.units)
    per = area_m2 / pay.system.area_m2
    each = {one.other: one for one in pay.against}
    blocks = each[BLOCKS]
    lone = [one for one in pay.against if one.other in {v.name for v in pay.alone.values()}]
    best = max(lone, key=lambda one: one.other_margin)
    return (
        f"Against the same crops in blocks, strips {_verdict(blocks, per, area)}. Against "
        f"{best.other} on the whole field, the best of the crops alone, they "
        f"{_verdict(best, per, area)}."
    )


def _verdict(one: Against, per: float, area: str) -> str:
    """Say whether strips leave more or less than another way, if the edges' range tells."""
    low, central, high = (value * per for value in (one.net.low, one.net.central, one.net.high))
    word = "more" if central >= 0 else "less"
    said_of = f"leave {money(abs(central))} per {area} {word}"
    if low == high:
        return said_of
    if low < -HALF and high > HALF:
        ends = f"from {money(-low)} less to {money(high)} more"
        return f"{said_of}, {ends} by what edges gain: it may be a gain or a loss"
    near, far = sorted((abs(low), abs(high)))
    return f"{said_of} ({money(near)} to {money(far)} by what edges gain)"


HALF = 0.5
"""Money by area that rounds to nothing."""


def _answer(book: Book, pay: Pay) -> Story:
    """Give the first page: the answer, yields, what it is held against, and what moves it."""
    area_m2, area = area_of(book.units)
    per = area_m2 / pay.system.area_m2
    leave = f"{money_range(pay.margin, per)} per {area} cropped, {money_range(pay.margin)} in all"
    equal = ratio_range(pay.land_equivalent)
    value = ratio_range(pay.monetary_equivalent)
    lines = [
        (
            f"Strips leave {leave}: sales less drying, seed, products, machines, fuel and other "
            "costs stated, before land, buildings and overheads. In brackets: the least and the "
            "most by what rows at edges are known to yield."
        ),
        (
            f"Land equivalent ratio {equal}: land the crops alone would take for the same yields. "
            f"Monetary equivalent ratio {value}: sales against those of {pay.best_alone} alone, "
            "costs left out; below 1 that crop alone sells for more, however much land is saved."
        ),
    ]
    if pay.two_seasons is not None:
        two = money_range(pay.two_seasons, per)
        lines.append(f"Mean of two seasons, the crops in each other's strips: {two} per {area}.")
    ratio = pay.price_ratio
    if ratio is not None:
        lines.append(
            f"Break-even price ratio: {ratio.loses} at {ratio.ratio:.2f} times the price of "
            f"{ratio.gains}, before costs; now {ratio.now:.2f}. Below it strips gain on blocks."
        )
    story: Story = [
        *begin(f"Does it pay? {MARKED.capitalize()}"),
        paragraph(answer_words(pay), TEXT_PT + 1, bold=True, below_mm=1.5),
        *(paragraph(line, below_mm=0.8) for line in lines),
        heading("Yields and what each crop leaves"),
        _crops_table(book, pay),
        gap(0.8),
        paragraph(_strip_words(pay, area_m2, area)),
        heading(f"What strips leave more, money per {area}"),
        _against_table(book, pay, per),
        gap(0.8),
        paragraph(
            "Blocks: the same crops on as much land each, side by side, which isolates what strips "
            "cost and gain. Rotation: whole fields by turns. Chance of less: of seasons drawn at "
            "random from the ranges stated, those in which strips leave less."
        ),
        *(paragraph(f"{words[:1].upper()}{words[1:]}.", above_mm=0.8) for words in free_words(pay)),
        heading("The same as partial budgets, money of the whole field"),
        _budget_table(book, pay),
        heading("Rows at edges"),
        _edges_table(book, pay),
    ]
    more = max(len(pay.crops) - PAIR, 0)  # crops, which take lines of every table
    bars = pay.bars[: max(BARS - 2 * more, LEAST_BARS)]
    if bars:
        blocks = pay.against[0].net.central
        story += [
            together(
                heading(f"What moves strips against blocks, money per {area}"),
                tornado_chart(bars, blocks, per, book.inner_mm),
            )
        ]
    return story


def _crops_table(book: Book, pay: Pay) -> Flowable:
    """Set each crop's yield alone and in strips, its price, and what it leaves."""
    area_m2, area = area_of(book.units)
    free = book.inner_mm - 36 - 40 - 20 - 36
    columns = [
        Column("crop", free),
        Column("yield alone", 36, right=True),
        Column("in strips (least to most)", 40, right=True),
        Column(f"land, {area}", 20, right=True),
        Column(f"leaves per {area} sown", 36, right=True),
    ]

    def row(one: CropPay) -> list[str]:
        unit = shown_yield(one.alone_per_m2, one.unit, book.units)[1]
        grown = one.yield_per_m2
        low, central, high = (
            said(shown_yield(each, one.unit, book.units)[0])
            for each in (grown.low, grown.central, grown.high)
        )
        spread = central if low == high else f"{central} ({low} to {high})"
        name = f"{one.crop}, {price_words(pay.worths[one.crop], book.units)}"
        leaves = money_range(one.margin, area_m2 / one.area_m2)
        return [
            name,
            f"{alone_words(pay.plan, one)} {unit}",
            spread,
            f"{one.area_m2 / area_m2:,.1f}",
            leaves,
        ]

    return table(columns, [row(one) for one in pay.crops[:CROPS]])


def _strip_words(pay: Pay, area_m2: float, area: str) -> str:
    """Say from what to what strips of each crop leave."""
    found = []
    for crop in dict.fromkeys(one.crop for one in pay.strips):
        own = [one for one in pay.strips if one.crop == crop]
        ordered = sorted(own, key=lambda one: one.margin.central / one.area_m2)
        ends = (ordered[0], ordered[-1])
        least, most = (money(one.margin.central * area_m2 / one.area_m2) for one in ends)
        if least == most:
            found.append(f"{crop} {least} on each")
            continue
        first, last = (f"(strip {one.strip})" for one in ends)
        found.append(f"{crop} from {least} {first} to {most} {last}")
    return f"Strip by strip, money per {area}: {'; '.join(found)}."


def _against_table(book: Book, pay: Pay, per: float) -> Flowable:
    """Set what strips leave more than each other way, its range and its chances."""
    columns = [
        Column("than", book.inner_mm - 6 * 24),
        Column("that leaves", 24, right=True),
        Column("least", 24, right=True),
        Column("strips leave\nmore", 24, right=True),
        Column("most", 24, right=True),
        Column("chance\nof less", 24, right=True),
        Column("1 in 10 to\n9 in 10", 24, right=True),
    ]

    def row(one: Against) -> list[str]:
        net = (one.net.low, one.net.central, one.net.high)
        chance = chance_words(one.chance_of_loss) or "-"
        tenths = "-"
        if one.tenths:
            tenths = f"{money(one.tenths[0] * per)} to {money(one.tenths[-1] * per)}"
        each = [money(value * per) for value in (one.other_margin, *net)]
        return [one.other, *each, chance, tenths]

    return table(columns, [row(one) for one in pay.against[: CROPS + 2]], ruled=2)


def _budget_table(book: Book, pay: Pay) -> Flowable:
    """Set the partial budgets."""
    heads = ["added returns", "saved costs", "lost returns", "added costs", "net"]
    columns = [
        Column("strips against", book.inner_mm - len(heads) * 27),
        *(Column(head, 27, right=True) for head in heads),
    ]

    def row(one: Against) -> list[str]:
        budget = one.budget
        values = (budget.added_returns, budget.saved_costs, budget.lost_returns,
                  budget.added_costs, budget.net)  # fmt: skip
        return [one.other, *map(money, values)]

    return table(columns, [row(one) for one in pay.against[: CROPS + 2]], ruled=2)


def _what_changes(book: Book, layout: "Layout", pay: Pay) -> Story:
    """Give the second page: widths, edges, studies, and how far each figure is to be trusted."""
    area_m2, area = area_of(book.units)
    per = area_m2 / pay.system.area_m2
    story: Story = begin(f"What would change the answer: {MARKED}", level=1)
    if pay.widths is not None:
        story += [
            heading("Which strip width pays best", above_mm=0.0),
            widths_chart(pay.widths, book.units, per, book.inner_mm),
            *(
                paragraph(f"{line[:1].upper()}{line[1:]}.", below_mm=0.8)
                for line in width_lines(pay.widths, book.units)
            ),
            paragraph(
                "Machines' widths stand under the picture. Turns, passes of part of a machine's "
                "width, ground worked twice and land not cropped are counted at the heading laid "
                f"({layout.accounts['field']['heading_deg']:.2f} degrees)."
            ),
        ]
    story += _studies(book, pay.studies)
    lists = (
        ("Measured: yours", measured_words(pay)),
        ("Published, or not known", unsure_words(pay)),
        ("Assumed", assumed_words(pay)),
        ("What would change the answer", _changes(pay, per, area)),
    )
    for head, words in lists:
        if words:
            story.append(heading(head, above_mm=2.0))
            story += [paragraph(f"- {one}.", hang_mm=2.0, below_mm=0.4) for one in words]
    return story


def _edges_table(book: Book, pay: Pay) -> Flowable:
    """Set what outer rows are taken to gain, and what they would have to for strips to be even."""
    columns = [
        Column("rows of", 46),
        Column("gain taken (least to most)", 44, right=True),
        Column("needed to be even with blocks", 44, right=True),
        Column("from", book.inner_mm - 46 - 44 - 44),
    ]
    rows = []
    for one in pay.needed[:CROPS]:
        sources = _sources(pay, (one.crop, one.beside))
        told = ", ".join(sources) if sources else "no source fits: measure yours"
        rows.append(
            [f"{one.crop} beside {one.beside}", percent_range(one.taken), needed_words(one), told]
        )
    if not rows:
        return paragraph("No rows lie beside another crop's.")
    return table(columns, rows, ruled=1)


def _sources(pay: Pay, pair: Pair) -> tuple[str, ...]:
    """Name what is known of a pair from where."""
    parts = (part.edges[pair] for part in pay.system.crops.values() if pair in part.edges)
    return next((land.sources for land in parts), ())


def _studies(book: Book, studies: Iterable[Response]) -> Story:
    """Set what trials found, each with its place, years and strip width."""
    listed = list(studies)
    if not listed:
        return []
    columns = [
        Column("study", 32),
        Column("rows", 50),
        Column("found", 30, right=True),
        Column("strips", 18, right=True),
        Column("where, when", book.inner_mm - 130),
    ]
    rows = []
    for one in listed[:STUDIES]:
        of = "whole strips" if one.row is None else f"row {one.row}"
        side = "" if one.side == "any" else f", {one.side} side"
        single = one.low == one.high
        words = percent(one.low) if single else f"{percent(one.low)} to {percent(one.high)}"
        strips = f"{one.strip_rows} rows" if one.strip_rows else "not said"
        where = ", ".join(each for each in (one.place, one.years) if each)
        name = f"{one.crop} by {one.beside}, {of}{side}"
        rows.append([one.study, name, words, strips, where])
    notes = dict.fromkeys(f"{one.study}: {one.source}" for one in listed)
    more = dict.fromkeys(f"{one.study}: {one.note}" for one in listed if one.note)
    return [
        heading("What trials found"),
        table(columns, rows),
        gap(0.6),
        paragraph("; ".join([*notes, *more]) + "."),
    ]


def _changes(pay: Pay, per: float, area: str) -> list[str]:
    """Say which figures to look at first, and how."""
    found = [
        f"{bar.name} from {bar.low} to {bar.high}: strips against blocks "
        f"{money(bar.at_low * per)} to {money(bar.at_high * per)} per {area}"
        for bar in pay.bars[:2]
    ]
    found.append(
        "weigh outer and inner rows apart at harvest, on either side, in several strips and years, "
        "and give what you find under [[edges]]: it goes before anything published"
    )
    return found
