"""Every kind of work over strips goes through `section` and `check` without a fault."""

import pytest
from click.testing import CliRunner
from fields import SHED, square, write_plan_for

from striplay.cli.main import main

SIZE = {"cultivate": 'rows = 16\nspacing = "30 in"'}


@pytest.mark.parametrize("does", ["spread", "cultivate", "mow", "till"])
def test_a_machine_of_every_kind_is_drawn_and_checked(tmp_path, does):
    size = SIZE.get(does, 'width = "60 ft"')
    work = f'[[operations]]\ndoes = "{does}"\nmachine = "other"\ncrops = ["corn"]\n'
    shed = f'{SHED}[machines.other]\ndoes = "{does}"\n{size}\n{work}'
    plan = write_plan_for(tmp_path, square(660), shed=shed)
    for args in (["section", str(plan), "-o", str(tmp_path / "set.pdf")], ["check", str(plan)]):
        result = CliRunner().invoke(main, args)
        assert result.exit_code == 0, result.output
