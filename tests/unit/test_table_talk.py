"""The talk of the planning table: every answer is the engine's own, and a refusal leaves all."""

import asyncio
import base64
import json
import random
import subprocess
import time
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from fields import PLANE, square, write_field
from tabled import Talk, afresh, write_small

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.table.answer import driven_answer, driven_of
from striplay.table.changed import changed_words, differing
from striplay.table.desk import MOST_LAID, History
from striplay.table.long_work import judge_whole
from striplay.table.offers import chosen, system_offer

ACTIONS = (
    ("change", {"direction.heading": 0}), ("change", {"direction.heading": 31.7}),
    ("change", {"direction.offset": "12.5 ft"}), ("change", {"direction.offset": None}),
    ("change", {"direction.start": "right"}), ("change", {"headland.passes": 1}),
    ("change", {"headland.where": "ends"}), ("change", {"headland.where": "none"}),
    ("change", {"headland.crop": None}), ("change", {"title": "Home \u00e9 <b>"}),
    ("change", {"strips": [{"crop": "corn", "rows": 16}, {"crop": "soybean", "rows": 16}]}),
    ("change", {"strips": [{"crop": "soybean", "rows": 32}]}),
    ("change", {"direction.heading": 181}), ("change", {"headland.passes": "x"}),
    ("change", {"crops.corn.rate": "34000"}), ("change", {"strips": []}),
    ("change", {"direction.shortest": "100 ft"}), ("change", {"a..b": 1}), ("change", 3),
    ("undo", None), ("undo", None), ("redo", None), ("reset", None), ("zap", None),
)  # fmt: skip


@pytest.fixture(autouse=True)
def _nothing_later(monkeypatch):
    """Let what comes later than an answer wait, where it is not what is tested."""
    monkeypatch.setattr("striplay.table.session.QUIET_S", (60.0, 0.0))


@pytest.fixture
def sit():
    """Sit down at a desk, and leave it after the test."""
    talks = []

    def begin(*given):
        talks.append(Talk(*given))
        return talks[-1]

    yield begin
    for one in talks:
        one.close()


TOLD = ("strips", "headland", "section", "figures", "crops", "money", "verdicts", "notices")


@pytest.fixture(scope="module")
def talk(tmp_path_factory):
    opened = Talk(write_small(tmp_path_factory.mktemp("desk")))
    yield opened
    opened.close()


def test_a_hundred_sequences_of_actions_answer_what_the_engine_gives(talk):
    draw, known = random.Random(5), {}  # noqa: S311 - the same for every run
    refused = 0
    for number in range(100):
        last = talk.answer("reset", number=number) if number % 10 == 0 else None
        for do, changes in draw.choices(ACTIONS, k=2):
            before = talk.session.desk.now.text
            said = talk.answer(do, number=number, changes=changes)
            assert said["number"] == number
            if said["say"] == "refused":
                refused += 1
                assert said["faults"]
                assert talk.session.desk.now.text == before
            else:
                last = said
        if last is None:
            continue
        text = last["document"]
        if text not in known:
            known[text] = json.loads(json.dumps(afresh(talk, text)))
        told = {key: json.loads(json.dumps(last[key])) for key in TOLD}
        assert told == {key: known[text][key] for key in TOLD}
    assert refused > 30
    assert len(known) > 30


def test_the_engines_own_words_refuse(talk):
    said = talk.answer("change", number=3, changes={"direction.heading": 181})
    assert said["faults"] == [
        (
            'direction.heading: 181 must be "best", or degrees clockwise from true north, 0 up to '
            "180; for example heading = 90"
        )
    ]


def test_what_is_saved_lays_to_the_very_same_accounts(tmp_path, sit):
    talk = sit(write_small(tmp_path))
    talk.answer("change", number=1, changes={"direction.heading": 33.25, "headland.where": "ends"})
    talk.ask("best", number=2)
    said = talk.answer("change", number=3, changes={"direction.start": "right"})
    now = talk.session.desk.now.layout.accounts
    saved = talk.ask("save", number=4, name="north 2")
    assert [one["say"] for one in saved] == ["saved", "ground", "answer"]
    assert saved[0]["command"] == "striplay lay 'north 2.toml' -o 'north 2'"
    path = tmp_path / "north 2.toml"
    assert path.read_text() == said["document"]
    assert lay(read_plan(path)).accounts == now
    assert saved[-1]["changed"] == []
    assert saved[-1]["is_saved"]
    assert saved[-1]["number"] == 4


def test_a_plan_is_replaced_only_by_the_desk_that_knows_it(tmp_path, sit):
    talk = sit(write_small(tmp_path))
    other = tmp_path / "other.toml"
    other.write_text((tmp_path / "plan.toml").read_text())
    talk.answer("change", number=1, changes={"direction.heading": 7})
    (said,) = talk.ask("save", number=2, name="other.toml")
    assert said["faults"] == ["other.toml: exists already; give another name"]
    assert talk.ask("save", number=3, name="plan.toml")[0]["say"] == "saved"
    talk.answer("change", number=4, changes={"direction.heading": 8})
    assert talk.ask("save", number=5, name="plan")[0]["say"] == "saved"
    (tmp_path / "plan.toml").write_text("# mine\n" + other.read_text())
    (said,) = talk.ask("save", number=6, name="plan")
    assert said["faults"] == [
        "plan.toml: was changed in the folder since it was opened; give another name"
    ]
    assert (tmp_path / "plan.toml").read_text().startswith("# mine")
    assert read_plan(other).direction.heading == 0


def test_the_best_heading_comes_as_a_change_that_undo_takes_back(tmp_path, sit):
    talk = sit(write_small(tmp_path, direction="heading = 33"))
    said = talk.ask("best", number=7)
    assert [one["say"] for one in said] == ["progress", "progress", "answer"]
    best = lay(read_plan(tmp_path / "plan.toml").model_copy(
        update={"direction": read_plan(tmp_path / "plan.toml").direction.model_copy(
            update={"heading": "best"})}))  # fmt: skip
    choice = best.laid.blocks[0].choice
    assert (said[-1]["number"], said[-1]["heading_deg"]) == (7, choice.heading_deg)
    assert said[-1]["offset_m"] == pytest.approx(choice.offset_m, abs=1e-6)
    assert talk.answer("undo", number=8)["heading_deg"] == 33.0


def test_cancel_ends_a_search_and_leaves_all(tmp_path, sit):
    talk = sit(write_small(tmp_path, direction="heading = 33"))
    text = talk.session.desk.now.text

    async def both():
        await talk.session.take({"do": "best", "number": 1})
        await talk.session.take({"do": "cancel", "number": 2})

    talk.run(both())
    assert talk.last("lost")["words"] == "the search was ended; nothing is changed"
    assert talk.session.desk.now.text == text
    assert talk.workers.done == []


def test_a_drag_is_one_step_of_undo(talk):
    talk.answer("reset", number=1)
    for heading_deg in (1.0, 2.0, 3.0):
        talk.answer(
            "change", number=2, stroke=9, changes={"direction.heading": heading_deg}
        )  # fmt: skip
    assert talk.session.desk.history.can_undo
    assert talk.answer("undo", number=3)["heading_deg"] == 0.0
    assert talk.answer("redo", number=4)["heading_deg"] == 3.0


def test_history_forgets_the_oldest_and_what_was_undone():
    history = History(("a",)).put("b").put("c").moved(-1).put("d")
    assert history.texts == ("a", "b", "d")
    assert not history.can_redo
    assert history.put("d") is history
    assert len(History(("0",), 0).put("1", 1).put("2", 1).put("3", None).texts) == 3


NAMES = (
    "../up.toml", "/etc/x.toml", "a/b.toml", "..", ".hidden.toml", "", " ", "con.toml", "x" * 200,
    "a\x00b.toml", "a\nb.toml", "nul", "x\u202e.toml", "a:b.toml", "c:\\x.toml", None, 5, ["x"],
    "end..", "link.toml", "folder.toml", "no_plan.toml",
)  # fmt: skip


def test_hostile_names_write_nothing(tmp_path, sit):
    inside = tmp_path / "inside"
    inside.mkdir()
    path = write_small(inside)
    (tmp_path / "victim.toml").write_text("mine")
    (inside / "link.toml").symlink_to(tmp_path / "victim.toml")
    (inside / "folder.toml").mkdir()
    (inside / "no_plan.toml").write_text("shopping = 1")
    talk = sit(path)
    before = sorted(one.name for one in tmp_path.rglob("*"))
    for name in NAMES:
        said = talk.ask("save", number=1, name=name)
        assert [one["say"] for one in said] == ["refused"], name
    assert sorted(one.name for one in tmp_path.rglob("*")) == before
    assert (tmp_path / "victim.toml").read_text() == "mine"
    assert (inside / "no_plan.toml").read_text() == "shopping = 1"


def test_a_plan_of_the_page_reads_no_file_outside_the_plans_folder(tmp_path, sit):
    inside = tmp_path / "inside"
    inside.mkdir()
    path = write_small(inside)
    write_field(tmp_path, square(700), "secret.geojson")
    talk = sit(path)
    told = "lies outside the folder of the plan; at the table a plan reads files of its folder"
    for changes in (
        {"field.boundary": "../secret.geojson"},
        {"direction.along": "/etc/passwd", "direction.heading": None},
    ):
        said = talk.answer("change", number=1, changes=changes)
        assert said["say"] == "refused"
        assert told in said["faults"][0]
    text = path.read_text().replace("field.geojson", str(tmp_path / "secret.geojson"))
    assert talk.answer("document", number=2, toml=text)["say"] == "refused"


VALUES = (
    None, 1, "x", [], {"do": None}, {"do": []}, {"do": "change"}, {"do": "change", "changes": []},
    {"do": "change", "number": "7", "changes": {"title": "\u202e\x07<script>"}},
    {"do": "change", "number": 2**70, "changes": {"direction.heading": 1e400}},
    {"do": "change", "changes": {"direction.heading": -(10**40)}}, {"do": "document"},
    {"do": "document", "toml": "\x00"}, {"do": "document", "toml": "a." * 500 + "b = 1"},
    {"do": "document", "toml": "[" * 5000}, {"do": "open"}, {"do": "open", "bytes": "%%%"},
    {"do": "open", "name": "x.exe", "bytes": ""}, {"do": "open", "name": "x.geojson", "bytes": ""},
    {"do": "open", "name": "x.gpkg", "bytes": base64.b64encode(b"no").decode()},
    {"do": "draw"}, {"do": "draw", "ring_m": [[0, 0], [1, 1]]},
    {"do": "draw", "ring_m": [[0, 0], [1, 1], ["a", 2]], "latitude": 1, "longitude": 1},
    {"do": "draw", "ring_m": [[0, 0], [9, 0], [9, 9]], "latitude": 99, "longitude": 1},
    {"do": "draw", "ring_m": [[0, 0], [9, 0], [9, 9]], "latitude": 42, "longitude": True},
    {"do": "draw", "ring_m": [[0, 0], [9, 0], [18, 0]], "latitude": 42, "longitude": 1},
)  # fmt: skip


def test_hostile_values_are_refused_or_shown_as_text_and_leave_the_folder(tmp_path, sit):
    talk = sit(write_small(tmp_path))
    before = sorted(one.name for one in tmp_path.iterdir())
    for message in VALUES:
        talk.run(talk.session.take(message if isinstance(message, dict) else {"do": message}))
        talk.settle()
        json.dumps(talk.said[-1], allow_nan=False)
    assert sorted(one.name for one in tmp_path.iterdir()) == before
    faults = [fault for one in talk.said if one["say"] == "refused" for fault in one["faults"]]
    assert not [one for one in faults if "fault of striplay" in one]
    assert all(one.isprintable() for one in faults)
    assert talk.answer("undo", number=5)["say"] == "answer"


def test_a_boundary_opened_on_an_empty_table_becomes_a_plan(tmp_path, sit):
    talk = sit(None, tmp_path)
    assert talk.said == [talk.last("ground")]
    assert talk.last("ground")["empty"]
    assert talk.answer("best", number=1)["faults"] == [
        "there is no field on the table; open a boundary, or draw one"
    ]
    data = write_field(tmp_path, square(900), "there.geojson").read_bytes()
    sent = {"name": "../../My field.geojson", "bytes": base64.b64encode(data).decode()}
    said = talk.ask("open", number=2, **sent)
    assert said[-1]["say"] == "answer"
    assert said[-1]["number"] == 2
    assert not said[-1]["is_saved"]
    assert (tmp_path / "My_field.geojson").read_bytes() == data
    assert talk.last("ground")["area_text"] == "18.60 ac"
    assert 'boundary = "My_field.geojson"' in said[-1]["document"]
    # opened once more it takes the place of the field, with machines and crops as they are
    talk.ask("change", number=3, changes={"crops.corn.rate": "30000 seeds/acre"})
    again = talk.ask("open", number=4, **sent)
    assert 'rate = "30000 seeds/acre"' in again[-1]["document"]
    assert sorted(one.name for one in tmp_path.glob("My*")) == ["My_field.geojson"]


def test_a_boundary_opened_a_byte_too_large_is_refused_and_nothing_kept(tmp_path, monkeypatch, sit):
    """Held at the size of a small file in place of a hundred megabytes."""
    talk = sit(None, tmp_path)
    data = write_field(tmp_path, square(900), "there.geojson").read_bytes()
    monkeypatch.setattr("striplay.table.opening.MAX_BINARY_BYTES", len(data))
    for number, content in enumerate((data + b" ", data), start=1):
        sent = {"name": "north.geojson", "bytes": base64.b64encode(content).decode()}
        said = talk.ask("open", number=number, **sent)[-1]
        kept = (tmp_path / "north.geojson").exists()
        assert (said["say"], kept) == [("refused", False), ("answer", True)][number - 1]
    assert "the file is larger than 0 MB" in talk.last("refused")["faults"]


def test_a_field_drawn_in_feet_is_kept_as_it_was_drawn(tmp_path, sit):
    talk = sit(None, tmp_path)
    side_m = 900 * 0.3048
    ring = [[0, 0], [0, side_m], [side_m, side_m], [side_m, 0]]
    said = talk.ask("draw", number=1, ring_m=ring, latitude=PLANE.latitude_deg,
                    longitude=PLANE.longitude_deg)  # fmt: skip
    assert said[-1]["say"] == "answer"
    kept = json.loads((tmp_path / "drawn_by_hand.geojson").read_text())
    assert kept["features"][0]["properties"] == {"name": "drawn by hand", "drawn": True}
    area_m2 = talk.session.desk.now.layout.ground.outline.area
    assert area_m2 == pytest.approx(side_m**2, rel=1e-6)


def test_figures_stand_beside_the_saved_plans_with_what_they_differ_by(tmp_path, sit):
    talk = sit(write_small(tmp_path))
    said = talk.answer("change", number=1, changes={"headland.passes": 1})
    headland = next(one for one in said["figures"] if one["label"] == "headland")
    # (900^2 - 740^2) / 43,560 = 6.028 acres, and (900^2 - 820^2) / 43,560 = 3.159
    assert headland == {
        "label": "headland", "text": "3.16 ac corn", "saved_text": "6.03 ac corn",
        "change_text": "\N{MINUS SIGN}2.87 ac",
    }  # fmt: skip
    assert said["changed"] == ["passes of the headland: 1 instead of 2"]
    assert said["changed_words"] == "headland"
    assert said["chosen"]["headlands"] == 0
    assert said["chosen"]["starts"] == 0


def test_what_needs_passes_comes_later_and_a_newer_change_drops_it(tmp_path, monkeypatch, sit):
    monkeypatch.setattr("striplay.table.session.QUIET_S", (0.5, 0.0))
    talk = sit(write_small(tmp_path))
    talk.ask("change", number=1, changes={"direction.heading": 20})
    talk.ask("change", number=2, changes={"direction.heading": 25})
    talk.run(talk.session._after)
    driven = [one for one in talk.said if one["say"] == "driven"]
    whole = [one for one in driven if one["facts"]]
    assert {one["number"] for one in whole} == {2}
    accounts = lay(talk.session.desk.now.layout.plan).accounts
    hours = sum(one["hours"] for one in accounts["operations"])
    facts = {one["label"]: one for one in whole[-1]["facts"]}
    assert facts["hours"]["text"] == f"{hours:,.1f}"
    assert facts["hours"]["saved_text"]
    assert [one["verdict"] for one in whole[-1]["verdicts"]] == [
        one["verdict"] for one in accounts["operations"]
    ]
    assert [one["text"] for one in whole[-1]["notices"]] == [
        one["text"] for one in accounts["notices"]
    ]
    systems = talk.last("offers")["systems"]
    # the page fills its lists anew, and shows what is on the table
    assert talk.last("offers")["chosen"] == talk.session.desk.answer(0, 0.0)["chosen"]
    assert [one["label"] for one in systems] == [
        "rows", "strips", "mixed stand", "relay", "quick crop",
    ]  # fmt: skip
    for one in systems:
        if one["can"]:  # one after the other, each in the place of the last
            assert talk.answer("change", number=3, changes=one["changes"])["say"] == "answer"


@pytest.mark.parametrize("name", ["$(id)", "S\u00fcd feld", "-x", "it's", "a`b`", "north"])
def test_a_shell_takes_the_command_to_copy_as_it_is(tmp_path, sit, name):
    talk = sit(write_small(tmp_path))
    command = talk.ask("save", number=1, name=name)[0]["command"]
    begin = "./" if name.startswith("-") else ""
    printed = subprocess.run(
        ["/bin/sh", "-c", f"printf '%s\\n' {command}"], capture_output=True, text=True, check=True
    ).stdout  # fmt: skip
    words = ["striplay", "lay", f"{begin}{name}.toml", "-o", f"{begin}{name}"]
    assert printed.splitlines() == words


def test_a_plan_handed_back_at_once_stands_beside_the_saved_one(tmp_path, sit):
    path = write_small(tmp_path)
    text = path.read_text()
    mine = text.replace("heading = 0", "heading = 7")
    assert mine != text
    talk = sit(path, None, {"do": "document", "number": 1, "toml": mine})
    said = talk.last("answer")
    assert (said["number"], said["heading_deg"]) == (1, 7)
    assert said["changed"] == ["heading: 7 instead of 0"]
    assert said["can_undo"]
    assert talk.ask("save", number=2, name="plan")[0]["say"] == "saved"
    assert path.read_text() == mine


def test_a_search_that_lands_as_a_plan_is_saved_comes_after_it(tmp_path, sit):
    talk = sit(write_small(tmp_path, direction="heading = 33"))
    write = talk.session.desk.write

    def slowly(*given):
        time.sleep(0.3)  # the search is done before
        write(*given)

    talk.session.desk.write = slowly

    async def both():
        await talk.session.take({"do": "best", "number": 1})
        await talk.session.take({"do": "save", "number": 2, "name": "mine"})

    talk.run(both())
    talk.settle()
    assert [m["say"] for m in talk.said if m["say"] == "refused"] == []
    assert read_plan(tmp_path / "mine.toml").direction.heading == 33
    desk = talk.session.desk
    assert desk.saved.text == (tmp_path / "mine.toml").read_text()
    said = talk.last("answer")
    assert (said["number"], desk.now.text) == (1, said["document"])
    assert said["changed"]


def test_what_is_driven_goes_on_while_a_plan_is_saved(tmp_path, monkeypatch, sit):
    monkeypatch.setattr("striplay.table.session.QUIET_S", (0.0, 0.0))
    talk = sit(write_small(tmp_path))
    refiled = talk.session.desk.refiled

    def slowly(laid):
        assert talk.session.desk.now is not None
        assert talk.session.desk.saved is not None
        return refiled(laid)

    talk.session.desk.refiled = slowly
    assert talk.ask("save", number=2, name="mine")[-1]["say"] == "answer"
    talk.run(talk.session._after)
    assert talk.last("driven")["number"] == 2
    assert not [m for m in talk.said if m["say"] in {"lost", "refused"}]


def test_a_cancel_as_a_search_lands_leaves_the_answer(tmp_path, sit):
    talk = sit(write_small(tmp_path, direction="heading = 33"))
    desk, answer = talk.session.desk, talk.session.desk.answer

    def landing(*given):
        talk.loop.call_soon_threadsafe(landed.set)
        return answer(*given)

    async def both():
        await talk.session.take({"do": "best", "number": 1})
        await landed.wait()
        await talk.session.take({"do": "cancel", "number": 2})

    landed, desk.answer = asyncio.Event(), landing
    talk.run(both())
    assert talk.last("answer")["number"] == 1
    assert talk.last("answer")["document"] == desk.now.text
    assert not [m for m in talk.said if m["say"] == "lost"]


def test_names_too_long_for_a_disk_are_refused(tmp_path, sit):
    talk = sit(write_small(tmp_path))
    (said,) = talk.ask("save", number=1, name="\u754c" * 90)
    assert "is too long" in said["faults"][0]
    assert talk.ask("save", number=1, name="\u00fc" * 95)[0]["say"] == "saved"


def test_what_the_computer_refuses_is_told(tmp_path, monkeypatch, sit):
    talk = sit(write_small(tmp_path))

    def no_folder(**_):
        raise FileNotFoundError(2, "No usable temporary directory found")

    monkeypatch.setattr("striplay.table.opening.TemporaryDirectory", no_folder)
    said = talk.answer("open", number=1, name="a.geojson", bytes="")
    assert said["faults"] == ["this computer refused it: No usable temporary directory found"]


def test_what_fails_as_a_plan_is_driven_is_told(tmp_path, monkeypatch, sit):
    monkeypatch.setattr("striplay.table.session.QUIET_S", (0.0, 0.0))

    def fails(_):
        raise ValueError("x")

    monkeypatch.setattr("striplay.table.session.passed_answer", fails)
    talk = sit(write_small(tmp_path))
    talk.run(talk.session._after)
    assert "fault of striplay's own (ValueError)" in talk.last("lost")["words"]


def test_a_part_of_the_cost_that_falls_to_nothing_is_told(talk):
    talk.answer("reset", number=1)
    said = talk.answer("change", number=2, changes={"headland.where": "none"})
    total, *parts = (one["change_text"] for one in said["money"])
    saved = {one["label"]: one for one in talk.answer("reset", number=3)["money"]}
    labels = [one["label"] for one in said["money"]]
    assert set(saved) <= set(labels)
    assert total.startswith("\N{MINUS SIGN}")
    assert any(part.startswith("\N{MINUS SIGN}") for part in parts)


def test_systems_judged_on_other_ground_are_dropped(tmp_path, sit):
    talk = sit(write_small(tmp_path))
    talk.session.desk.offers["systems"] = [{"label": "rows", "changes": {"title": "x"}}]
    assert talk.ask("change", number=1, changes={"crops.corn.rate": "30000 seeds/acre"})
    assert talk.session.desk.offers["systems"]
    data = write_field(tmp_path, square(700), "there.geojson").read_bytes()
    talk.ask("open", number=2, name="b.geojson", bytes=base64.b64encode(data).decode())
    assert talk.session.desk.offers["systems"] == talk.last("offers")["systems"] == []


def test_a_plan_made_meanwhile_is_never_replaced(tmp_path, monkeypatch, sit):
    talk = sit(write_small(tmp_path))
    (tmp_path / "new.toml").write_text("mine")
    monkeypatch.setattr("pathlib.Path.exists", lambda _, **__: False)  # made just after
    (said,) = talk.ask("save", number=1, name="new")
    assert said["faults"] == ["new.toml: exists already; give another name"]
    assert (tmp_path / "new.toml").read_text() == "mine"


def test_undo_redo_and_save_lay_nothing_that_was_laid(tmp_path, monkeypatch, sit):
    talk = sit(write_small(tmp_path))
    for heading_deg in (7, 8):
        talk.answer("change", number=1, changes={"direction.heading": heading_deg})
    monkeypatch.setattr("striplay.table.desk.lay_on_ground", None)
    assert talk.answer("undo", number=2)["heading_deg"] == 7
    assert talk.answer("redo", number=3)["heading_deg"] == 8
    assert talk.ask("save", number=4, name="mine")[-1]["say"] == "answer"
    desk = talk.session.desk
    assert desk.now.layout.plan == read_plan(tmp_path / "mine.toml")
    for number in range(20):
        desk.keep(replace(desk.now, text=str(number)))
    assert len(desk._known) == MOST_LAID


def test_hours_still_come_after_a_search_that_was_cancelled_or_refused(tmp_path, sit):
    talk = sit(write_small(tmp_path, direction="heading = 33"))

    async def both():
        await talk.session.take({"do": "best", "number": 1})
        await talk.session.take({"do": "cancel", "number": 2})

    talk.run(both())
    assert not talk.session._after.done()
    assert talk.answer("open", number=3, name="a.geojson", bytes="")["say"] == "refused"
    assert not talk.session._after.done()


def test_an_undo_that_takes_long_tells_how_far_it_is_and_can_be_cancelled(tmp_path, sit):
    talk = sit(write_small(tmp_path))
    talk.answer("change", number=1, changes={"blocks": "suggest", "direction.heading": None})
    suggested = talk.session.desk.now.text
    talk.answer("change", number=2, changes={"blocks": None, "direction.heading": 8})
    stated = talk.session.desk.now.text
    talk.session.desk._known.clear()  # as after many layouts

    async def both():
        await talk.session.take({"do": "undo", "number": 3})
        await talk.session.take({"do": "cancel", "number": 4})

    talk.run(both())
    assert talk.session.desk.now.text == talk.session.desk.history.text == stated
    said = talk.ask("undo", number=5)
    assert [one["say"] for one in said if one["say"] != "offers"] == [
        "progress", "progress", "answer",
    ]  # fmt: skip
    assert said[-1]["document"] == talk.session.desk.history.text == suggested
    assert said[-1]["can_redo"]
    assert [one["say"] for one in talk.ask("redo", number=6)][-1] == "answer"


def test_a_date_written_in_another_way_is_no_difference():
    said = {"sown": "2026-05-01", "harvested": date(2026, 10, 21)}
    assert differing({"sown": date(2026, 5, 1), "harvested": date(2026, 10, 20)}, said) == [
        "harvested: 2026-10-21 instead of 2026-10-20"
    ]


def test_where_a_field_lies_and_what_money_is_are_told(tmp_path, sit):
    talk = sit(write_small(tmp_path))
    ground = talk.last("ground")
    assert ground["where_text"] == "42.0\N{DEGREE SIGN} north, 93.5\N{DEGREE SIGN} west"
    assert ground["lengths_m"]["ft"] == 0.3048
    told = talk.last("answer")["money_words"]
    assert told.startswith("In the currency of the plan's prices. Not priced in the plan")
    assert "land, seed" in told
    priced = {"cost.land": "300 per acre", "cost.seed": "9 per acre", "cost.spray": "9 per acre"}
    costs = {
        f"machines.{name}.cost": "90 per hour"
        for name in talk.session.desk.now.layout.plan.machines
    }
    said = talk.answer("change", number=1, changes={**priced, **costs})
    assert said["money_words"] == "In the currency of the plan's prices."


def test_a_sketch_and_what_is_made_up_are_told_until_they_are_replaced(tmp_path, sit):
    talk = sit(None, tmp_path)
    ring = [[0, 0], [0, 270], [270, 270], [270, 0]]
    said = talk.ask("draw", number=1, ring_m=ring, latitude=42.0, longitude=-93.5)[-1]
    told = [one["text"] for one in said["notices"]]
    sketch = "drawn_by_hand.geojson: is drawn by hand; measure the field before seed is bought"
    assert [one for one in told if one.startswith(sketch)]
    assert [one for one in told if one.startswith('"planter", "corn_head", "platform" and')]
    own = dict.fromkeys(f"machines.{one}.example" for one in
                        ("planter", "corn_head", "platform", "sprayer"))  # fmt: skip
    said = talk.ask("change", number=2, changes=own)[-1]
    told = [one["text"] for one in said["notices"]]
    assert [one for one in told if "made up" in one] == [
        (
            '"corn" and "soybean" are made up, none of the farm\'s crops: put its rates and days '
            "there, and take example = true away from [crops]"
        )
    ]
    layout = talk.session.desk.now.layout
    assert {one.text for one in layout.notices} >= set(told)


def test_what_is_drilled_after_a_harvest_has_no_length_of_row(sit):
    """It has a width and a rate: no row of it is counted."""
    talk = sit(Path(__file__).parents[2] / "sample_fields/quarter_section/cover.toml")
    lengths = [
        next(one["text"] for one in crop["facts"] if one["label"] == "length of row")
        for crop in talk.last("answer")["crops"]
    ]
    assert lengths == ["228 mi", "228 mi", "-"]  # corn, soybean, rye


@pytest.fixture(scope="module")
def systems(tmp_path_factory):
    """A table whose systems are judged, and each system's offer by its name."""
    opened = Talk(write_small(tmp_path_factory.mktemp("systems")))
    now = opened.session.desk.now
    judged = judge_whole(now.layout.plan, now.tables, now.layout.ground)
    yield opened, {one.system: system_offer(one) for one in judged}
    opened.close()


def number_in(text):
    """Give the number that a figure begins with; a dash is none of it."""
    text = text.split(",")[0].split(" ")[0].replace("\N{MINUS SIGN}", "-")
    return 0.0 if text == "-" else float(text)


@pytest.mark.parametrize("system", ["rows", "mixed stand", "relay", "quick crop"])
def test_a_difference_is_that_of_the_figures_that_are_seen(systems, system):
    """What a crop loses is told as lost, and what it shares is told as shared, never as nothing."""
    talk, offers = systems
    said = talk.answer("change", number=1, changes=offers[system]["changes"])
    talk.answer("reset", number=2)
    facts = [one for crop in said["crops"] for one in crop["facts"]]
    differing_facts = [one for one in facts if one["change_text"] != "the same"]
    assert differing_facts
    for one in differing_facts:
        off = number_in(one["text"]) - number_in(one["saved_text"])
        assert number_in(one["change_text"]) == pytest.approx(off, abs=1e-6), one
    areas = [crop["facts"][0]["text"] for crop in said["crops"]]
    assert "0.00 ac" not in areas
    shared = [one for one in areas if one.endswith(" ac, shared")]
    assert len(shared) == {"rows": 0, "mixed stand": 2, "relay": 1, "quick crop": 1}[system]


def test_hours_and_cost_that_leave_a_harvest_out_are_held_against_none(systems):
    talk, offers = systems
    desk = talk.session.desk
    before = driven_of(desk.now.layout)
    offer = offers["mixed stand"]
    assert not offer["can"]
    assert offer["words"] == (
        "corn and soybean in one row; needs one machine that harvests both at once, grain or "
        "forage: now corn_head and platform"
    )  # no example stands in for it
    said = talk.answer("change", number=1, changes=offer["changes"])
    facts = driven_answer(driven_of(desk.now.layout), before)["facts"]
    talk.answer("reset", number=2)
    told = {one["label"]: one for one in [*facts, *said["money"]]}
    for label in ("passes", "hours", "operations", "cost a year", "turns"):
        assert told[label]["text"].endswith(", not counted: harvest of corn_soybean"), label
        assert told[label]["change_text"] == "-"
    assert before.uncounted == ""


def test_work_on_no_land_is_told_beside_the_hours_that_leave_it_out(systems):
    talk, _ = systems
    asked = [{"does": "spray", "machine": "sprayer", "crops": ["soybean"]}]
    corn = [{"crop": "corn", "rows": 16}]
    said = talk.answer("change", number=1, changes={"operations": asked, "strips": corn})
    assert said["say"] == "answer", said
    driven = driven_of(talk.session.desk.now.layout)
    talk.answer("reset", number=2)
    assert driven.uncounted == "not counted: spray by sprayer"


def test_what_changed_is_named_in_words():
    before = {"direction": {"heading": 0, "offset": "1 ft"}, "crops": {"corn": {"rate": 1}}}
    now = {
        "direction": {"heading": 7, "start": "right", "offset": "1 ft"}, "row_set": {"units": "x"},
        "crops": {"corn": {"rate": 2}, "rye": {"planter": "drill", "seed_price": 3}},
    }  # fmt: skip
    assert changed_words(before, now) == (
        "heading, side of the first strip, crop corn, crop rye and 1 more"
    )
    assert changed_words(now, now) == ""
    # each change by the same words, as it was and is
    before = {
        **before, "headland": {"where": "ends", "passes": 2, "crop": "corn"},
        "strips": [{"crop": "corn", "rows": 16}], "after_harvest": [{"crop": "rye"}],
    }  # fmt: skip
    now = {
        **now, "headland": {"where": "around", "width": "60 ft"},
        "strips": [{"crop": "corn", "rows": 8}],
    }  # fmt: skip
    assert differing(before, now) == [
        "heading: 7 instead of 0",
        "side of the first strip: right",
        "crop corn rate: 2 instead of 1",
        "crop rye: planter drill, seed price 3",
        "headland: all round instead of at the ends",
        "passes of the headland: 2 taken away",
        "crop of the headland: corn taken away",
        "width of the headland: 60 ft",
        "strips: crop corn, rows 8 instead of crop corn, rows 16",
        "crops after a harvest: crop rye taken away",
        "row set: units x",
    ]
    assert differing(now, now) == []


def test_a_plan_of_strips_is_shown_as_strips_however_their_widths_are_written(systems):
    talk, offers = systems
    listed = list(offers.values())
    place = list(offers).index("strips")
    desk = talk.session.desk
    told = {**desk.offers, "systems": listed}

    def system(strips):
        talk.answer("change", number=1, changes={"strips": strips})
        found = chosen(told, desk.now.layout, desk.now.tables)["systems"]
        talk.answer("reset", number=2)
        return found

    # the judged strips are 40 ft each, one pass of the planter, or 16 rows of 30 in
    assert system([{"crop": "corn", "passes": 1}, {"crop": "soybean", "passes": 1}]) == place
    assert system([{"crop": "corn", "rows": 16}, {"crop": "soybean", "rows": 16}]) == place
    assert system([{"crop": "corn", "rows": 16}, {"crop": "soybean", "rows": 48}]) == -1


def test_the_map_is_keyed_by_what_grows_now_whatever_was_tried(systems):
    talk, offers = systems
    said = talk.answer("change", number=1, changes=offers["relay"]["changes"])
    names = [one["name"] for one in talk.last("offers")["crops"]]
    assert [names[place] for place in said["grown"]] == ["soybean", "wheat"]
    said = talk.answer("reset", number=2)
    assert [names[place] for place in said["grown"]] == ["corn", "soybean"]
