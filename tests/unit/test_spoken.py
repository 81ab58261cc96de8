"""What pages in the cab say of a plan: its machines by name, no key as it is typed."""

import re

import pytest
from fields import NAMES, sample

from striplay.sheets.spoken import spoken


@pytest.fixture(scope="module")
def say():
    return spoken(sample("quarter_section").plan)


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("a smaller turning_radius would help", "a smaller turning radius would help"),
        ("state auger_reach of each", "state auger reach of each"),
        ("planter and corn_head, without shut_off", "planter and corn head, without row shut-off"),
        ("field.where chooses among them", "the plan chooses among them"),
        ("state crops.corn.yield, or `holds`", "state the yield of corn, or what it holds"),
        ("a machine that can back up (reversing = true)", "a machine that can back up"),
        ("too narrow (direction.narrowest)", "too narrow"),
        ("9 ft (at -91.87476, 43.20401); turn",
         "9 ft (at latitude 43.20401, longitude -91.87476); turn"),
        ("herbicide my_mix 2.5", "herbicide my_mix 2.5"),
        ("unload_by_hand turning_radius_m", "unload_by_hand turning_radius_m"),
    ],
)  # fmt: skip
def test_keys_are_said_as_words(say, written, told):
    assert say(written) == told


@pytest.mark.parametrize("name", NAMES)
def test_nothing_told_of_an_operation_has_a_key(name):
    layout = sample(name)
    say = spoken(layout.plan)
    for sheet in layout.worksheets:
        texts = [one.text for one in sheet.judged.notices]
        texts += [word for pair in (*sheet.settings, *sheet.takes) for word in pair]
        for text in texts:
            assert not re.search(r"[a-z]_[a-z]", say(text).replace("________", "")), text
