"""The field page's passes: an operation at a time, in the order driven."""

import pytest
from fields import sample

STEP_THROUGH = """() => {
  const told = [];
  const on = document.getElementById("on");
  for (;;) {
    const rows = [...document.querySelectorAll("#pass-facts > div")];
    const pairs = rows.map((row) => [...row.children].map((part) => part.textContent));
    const facts = Object.fromEntries(pairs);
    told.push({ title: document.getElementById("pass-title").textContent, ...facts });
    if (on.disabled) {
      return told;
    }
    on.click();
  }
}"""


@pytest.mark.parametrize("name", ["quarter_section", "two_parts"])
def test_next_goes_through_the_passes_in_the_order_driven(open_page, name):
    opened = open_page(sample(name))
    page, passes = opened.page, opened.layout.passes
    page.click("#tab-passes")
    jobs = list(dict.fromkeys(passes["job"]))
    assert page.locator("#operation option").all_inner_texts() == jobs
    for job in jobs:
        page.select_option("#operation", label=job)
        told = page.evaluate(STEP_THROUGH)
        table = passes[passes["job"] == job].drop_duplicates("number")
        assert [one["title"].split()[1].rstrip(":") for one in told] == [
            str(number) for number in table["number"]
        ]
        assert [one["Heading"] for one in told] == [
            f"{round(heading) % 360:03d}°" for heading in table["heading_deg"]
        ]
        for end, label in (("a", "A, where it starts"), ("b", "B, where it ends")):
            assert [one[label] for one in told] == [
                f"{latitude:.7f}, {longitude:.7f}"
                for latitude, longitude in zip(
                    table[f"{end}_latitude"], table[f"{end}_longitude"], strict=True
                )
            ]
        assert [one["On"] for one in told] == list(table["rows_on"])
        assert [one.get("Fill", "") for one in told] == list(table["fills"])
        assert [one["Works"].startswith("headland") for one in told] == list(table["strip"].isna())


def test_back_goes_to_the_pass_before_and_the_ends_go_no_further(open_page):
    opened = open_page()
    page = opened.page
    page.click("#tab-passes")
    assert page.locator("#back").is_disabled()
    page.click("#on")
    page.click("#on")
    page.click("#back")
    assert opened.text("pass-title").startswith("Pass 2 of ")
    assert not page.locator("#back").is_disabled()


def test_an_operation_tells_its_verdict_settings_loads_and_cautions(open_page):
    opened = open_page(sample("quarter_section"))
    page = opened.page
    page.click("#tab-passes")
    for place, sheet in enumerate(opened.layout.worksheets):
        page.select_option("#operation", index=place)
        assert f"Can it be done: {sheet.judged.answer}" in opened.text("answer")
        # the operation is chosen just above: its reason does not name it again
        reason = sheet.judged.reason.removeprefix(f"{sheet.name}: ")
        assert reason[1:] in opened.text("answer")
        assert f"{sheet.name}:" not in opened.text("answer")
        facts = opened.page.locator("#operation-facts").text_content()
        assert all(words in facts for _, words in sheet.settings)
        assert all(load.to_load_words in facts for load in sheet.loads)
        cautions = opened.page.locator("#operation-cautions").text_content()
        assert all(one.text in cautions for one in sheet.cautions)


def test_the_passes_warn_that_a_phone_steers_nothing(open_page):
    opened = open_page()
    opened.page.click("#tab-passes")
    warned = opened.page.locator("#passes .warning").inner_text()
    assert warned == "A phone is meters off and steers nothing; put it away while driving."


def test_a_tap_among_the_passes_goes_to_the_pass_there(open_page):
    opened = open_page(size="desk")
    opened.page.click("#tab-passes")
    sheet = opened.layout.worksheets[0]
    for index in (5, 20):
        middle = sheet.judged.route.line[index].interpolate(0.4, normalized=True)
        opened.tap(*opened.pixels(middle.x, middle.y))
        assert opened.text("pass-title").startswith(f"Pass {sheet.number[index]} ")
