"""Build the section a plan asks for, whatever its system."""

from dataclasses import replace

from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.section.after_harvest import with_after_harvest
from striplay.section.between import with_between
from striplay.section.row_set import row_set_section
from striplay.section.section import Section
from striplay.section.strips import strip_sections
from striplay.section.tramlines import border_notices


def sections_of(plan: Plan) -> list[Section]:
    """Build the sections of a plan: first the one to lay, then those of other good sets.

    Raises:
        PlanError: nothing to plant, or no width that fits.
    """
    if plan.row_set is not None:
        base = [row_set_section(plan, plan.row_set)]
    else:
        base = strip_sections(plan)
    return [_told(plan, _sown(plan, section)) for section in base]


def _sown(plan: Plan, section: Section) -> Section:
    """Sow crops between and after a section's rows, and those of a trial's set without checks."""
    usual = None if section.usual is None else _sown(plan, section.usual)
    sown = with_after_harvest(plan, with_between(plan, section))
    return replace(sown, usual=usual)


def _told(plan: Plan, section: Section) -> Section:
    """Add what is to be told of its tramlines."""
    more = (Notice("fit", "mind", None, said) for said in border_notices(plan, section))
    return replace(section, notices=(*section.notices, *more))
