"""Sow second crops and cover crops where a strip's own crop was harvested, on any section."""

from dataclasses import replace

from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.section.between import is_host, layers_between
from striplay.section.mixture import sown_of
from striplay.section.passes import passes_over
from striplay.section.section import Layer, Row, Section, Strip
from striplay.section.strips import row_spacing_m
from striplay.section.tramlines import tramlines_of


def layers_after(plan: Plan) -> list[tuple[Layer, ...]]:
    """Give the layers that each [[after_harvest]] of a plan asks for, sown in the set or not."""
    first = len(plan.layered) - len(plan.after_harvest) + 1
    return [
        tuple(
            replace(
                layer,
                number=number,
                grown="after harvest",
                host=one.after,
                drilled=plan.planter(one.crop).rows is None,
            )
            for layer in sown_of(plan, one.crop)
        )
        for number, one in enumerate(plan.after_harvest, start=first)
    ]


def layers_besides(plan: Plan) -> list[tuple[Layer, ...]]:
    """Give all layers that are no strip's own: those of relays, quick crops and after harvests."""
    return [*layers_between(plan), *layers_after(plan)]


def with_after_harvest(plan: Plan, section: Section) -> Section:
    """Add to a section the rows, passes and notices of what is sown after harvests.

    The ground is bare by then, so a strip is planted as if it were that crop's: its planter's own
    rows over the whole strip, whatever rows stood there before.
    """
    for layers in layers_after(plan):
        section = _sown_after(plan, section, layers)
    return _driven(plan, section) if section.following else section


def _driven(plan: Plan, section: Section) -> Section:
    """Add what machines drive over all that is sown after harvests, on tramlines where these do."""
    lined = replace(section, tramlines=tramlines_of(plan, section))
    passes = [*section.passes]
    for number in dict.fromkeys(row.layer for row in section.rows if row.sown[0].follows):
        for index in range(len(section.strips)):
            own = [(place, row) for place, row in enumerate(section.rows)
                   if row.strip == index and row.layer == number]  # fmt: skip
            if own:
                strip = _bare(plan, section.strips[index], own[0][1].label)
                made = passes_over(plan, strip, index, own, lined.tramlines)
                passes += [replace(one, layer=number) for one in made]
    return replace(lined, passes=tuple(passes))


def _sown_after(plan: Plan, section: Section, layers: tuple[Layer, ...]) -> Section:
    crop, host = layers[0].label, layers[0].host
    # a cover crop after check strips too, so that these are followed alike
    hosts = [
        index for index, strip in enumerate(section.strips)
        if strip.crop == host or is_host(section, index, host)
    ]  # fmt: skip
    if not hosts:
        said = f"{crop} after {host}: no strip of {host} stands in the set; it is not sown"
        return replace(section, notices=(*section.notices, Notice("fit", "mind", None, said)))
    planter = plan.crops[crop].planter
    bare = {index: _bare(plan, section.strips[index], crop) for index in hosts}
    rows = [
        Row(strip.left_m + (place + 0.5) * strip.spacing_m, strip.spacing_m, index, place + 1,
            planter, 0, 0, layers)
        for index, strip in bare.items() for place in range(strip.rows)
    ]  # fmt: skip
    ordered = tuple(sorted([*section.rows, *rows], key=lambda row: row.offset_m))
    number = {id(row): place for place, row in enumerate(ordered)}
    passes = [
        replace(one, rows=tuple(number[id(section.rows[index])] for index in one.rows))
        for one in section.passes
    ]
    return replace(section, rows=ordered, passes=tuple(passes))


def _bare(plan: Plan, strip: Strip, crop: str) -> Strip:
    """Give a strip's ground as one of another crop, with rows evenly over all of it."""
    count = max(1, round(strip.width_m / row_spacing_m(plan, crop)))
    return replace(
        strip, crop=crop, spacing_m=strip.width_m / count, rows=count, lead_m=0.0, empty=0
    )
