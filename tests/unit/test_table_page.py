"""The planning page as it is written: its modules, its policy, what it holds besides."""

import itertools
import re
from importlib import resources

import pytest

from striplay.page.bind import read, script_of
from striplay.page.page import FIELD_PAGE
from striplay.table.page import TABLE_PAGE, table_page

TALK = "ws://127.0.0.1:8000/secret/talk"
ON_PAPER = ("--ink", "--soft", "--marked")
"""Colors of words on paper; and words stand in paper on the first and the last."""


def luminance(color):
    """Give the relative luminance of #rrggbb (WCAG 2.2, section 1.4.3)."""
    parts = [int(color[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    light, dark = sorted([luminance(one), luminance(other)], reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_every_module_is_in_the_script_after_those_it_imports():
    own = {one.name for one in resources.files("striplay.table").iterdir()}
    used = {name for name in TABLE_PAGE.scripts if name.startswith("table/")}
    assert used == {f"table/{name}" for name in own if name.endswith(".js")}
    for place, name in enumerate(TABLE_PAGE.scripts):
        folder = name.split("/")[0]
        asked = re.findall(r'from "\.{1,2}/(?:(page)/)?(\w+\.js)"', read(name))
        before = set(TABLE_PAGE.scripts[:place])
        assert {f"{other or folder}/{file}" for other, file in asked} <= before, name
    script = script_of(TABLE_PAGE)
    assert not re.search(r"^(import|export) ", script, re.MULTILINE)
    assert "</script" not in script


@pytest.mark.parametrize("pieces", [FIELD_PAGE, TABLE_PAGE], ids=["field", "table"])
def test_no_name_stands_for_two_things_in_a_page(pieces):
    """The modules of a page become one script: a name used twice would stop it."""
    found = re.findall(
        r"^(?:async )?(?:const|let|function|class) (?:(\w+)|\[([^\]]+)\])",
        script_of(pieces), re.MULTILINE,
    )  # fmt: skip
    names = list(itertools.chain.from_iterable((one or many).split(", ") for one, many in found))
    assert len(names) > 100
    assert sorted(names) == sorted(set(names))


def test_it_connects_to_its_engine_alone():
    page, policy = table_page(TALK)
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    assert rules["connect-src"] == TALK
    assert rules["default-src"] == "'none'"
    assert "unsafe" not in policy
    text = page.decode()
    assert f'content="{policy}"' in text
    assert not re.search(r"https?:|@import|url\(", text)
    markup = read("table/table.html")
    assert not re.search(r"\s(on\w+|style|src)=", markup)


@pytest.mark.parametrize("dark", [False, True])
def test_words_stand_out_from_paper(dark):
    begins = r'body\[data-mode="dark"\]' if dark else "body"
    block = re.findall(rf"^{begins} \{{(.*?)\}}", read("page/look.css"), re.MULTILINE | re.DOTALL)[
        0
    ]
    colors = dict(re.findall(r"(--\w+): (#\w{6})", block))
    for name in ON_PAPER:
        assert contrast(colors[name], colors["--paper"]) >= 4.5, name
    assert contrast(colors["--ink"], colors["--warn"]) >= 4.5
    assert contrast(colors["--ink"], colors["--wash"]) >= 4.5
