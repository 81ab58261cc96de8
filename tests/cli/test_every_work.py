"""Every kind of work goes through `section`, `check`, `lay` and `print` without a fault."""

import pytest
from click.testing import CliRunner
from fields import SHED, square, write_plan_for
from pypdf import PdfReader

from striplay.cli.main import main

SIZE = {
    "cultivate": 'rows = 16\nspacing = "30 in"',
    "haul": 'tread = "120 in"\ntire = "20 in"',
}


@pytest.mark.parametrize("does", ["spread", "cultivate", "mow", "till", "haul"])
def test_a_machine_of_every_kind_is_drawn_checked_laid_and_printed(tmp_path, does):
    size = SIZE.get(does, 'width = "60 ft"')
    shed = f'{SHED}[machines.other]\ndoes = "{does}"\n{size}\n'
    if does != "haul":  # a cart has no work of its own
        shed += f'[[operations]]\ndoes = "{does}"\nmachine = "other"\ncrops = ["corn"]\n'
    plan = str(write_plan_for(tmp_path, square(660), shed=shed))

    def said(*arguments):
        result = CliRunner().invoke(main, [*arguments])
        assert result.exit_code == 0, result.output
        return result.output

    said("section", plan, "-o", str(tmp_path / "set.pdf"))
    said("check", plan)
    laid = said("lay", plan, "-o", str(tmp_path / "out"))
    if does == "haul":
        assert "(other)" not in laid
        return
    assert f"{does} 6 (other)" in laid
    page = tmp_path / "work.pdf"
    said("print", plan, "--for", f"{does} corn", "-o", str(page))
    words = " ".join(one.extract_text() for one in PdfReader(page).pages).lower()
    assert f"{does} corn" in words
