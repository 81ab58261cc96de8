"""The planning table as it is served: to this computer alone, to many pages at once, to the end."""

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
import uvicorn
from click.testing import CliRunner
from fields import square, write_field
from tabled import write_small
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from striplay.cli import main
from striplay.errors import StriplayError
from striplay.table.opened import opened
from striplay.table.server import HOST, Table, app_of, config_of, listening

POLICY = "default-src 'none'; connect-src {}"


class Served:
    """A table served in a thread of its own."""

    def __init__(self, path):
        self.table, bound = Table(opened(path, path.parent)), listening(0)
        self.port = bound.getsockname()[1]
        self.origin = f"http://{HOST}:{self.port}"
        app = app_of(self.table, lambda talk: (b"<p>page", POLICY.format(talk)), self.port)
        self.server = uvicorn.Server(config_of(app))
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": [bound]})
        self.thread.start()
        while not self.server.started:
            time.sleep(0.01)

    def get(self, path, host=None, method="GET"):
        """Ask for a path, and give status, headers and body."""
        asked = http.client.HTTPConnection(HOST, self.port, timeout=10)
        asked.request(method, path, headers={"Host": host or f"{HOST}:{self.port}"})
        answer = asked.getresponse()
        found = answer.status, dict(answer.getheaders()), answer.read()
        asked.close()
        return found

    def talk(self, token=None, **how):
        """Open a talk."""
        where = f"ws://{HOST}:{self.port}/{token or self.table.token}/talk"
        return connect(where, **{"origin": self.origin, "max_size": None} | how)


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    found = Served(write_small(tmp_path_factory.mktemp("table")))
    yield found
    found.server.should_exit = True
    found.thread.join(20)


def hear(talk, say, **like):
    """Wait for something that is said."""
    while True:
        said = json.loads(talk.recv(timeout=30))
        if said["say"] == say and all(said.get(key) == value for key, value in like.items()):
            return said


def ask(talk, do, number, **more):
    """Ask for something, and give its answer or refusal."""
    talk.send(json.dumps({"do": do, "number": number, **more}))
    while True:
        said = json.loads(talk.recv(timeout=30))
        if said["say"] in {"answer", "refused"} and said["number"] == number:
            return said


def test_the_page_is_shown_under_its_token_alone_and_nothing_else_is(served):
    token = served.table.token
    assert len(token) >= 32
    status, headers, body = served.get(f"/{token}/")
    assert (status, body) == (200, b"<p>page")
    assert headers["content-security-policy"] == POLICY.format(
        f"ws://{HOST}:{served.port}/{token}/talk"
    )
    assert headers["x-frame-options"] == "DENY"
    assert headers["cache-control"] == "no-store"
    for path in (
        "/", "/x/", f"/{token[:-1]}/", f"/{token}", f"/{token}/talk", f"/{token}/plan.toml",
        f"/{token}/../plan.toml", "/plan.toml", f"/{token}/%2e%2e/", f"//{token}/", "/%C3%A9/",
    ):  # fmt: skip
        assert served.get(path)[::2] == (404, b"nothing is here"), path
    assert served.get(f"/{token}/", method="POST")[0] == 405


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "localhost"])
def test_another_host_finds_nothing(served, host):
    assert served.get(f"/{served.table.token}/", host=host)[0] == 404


@pytest.mark.parametrize("origin", ["http://evil.example", None, "null", "http://localhost:1"])
def test_no_other_origin_may_talk(served, origin):
    with pytest.raises(InvalidStatus, match="403"):
        served.talk(origin=origin)


def test_no_talk_without_the_token(served):
    with pytest.raises(InvalidStatus, match="403"):
        served.talk(token="x" * 32)


def test_the_server_listens_on_this_computer_alone(served):
    assert served.server.servers[0].sockets[0].getsockname()[0] == "127.0.0.1"
    with pytest.raises(OSError):  # noqa: PT011 - each system words it
        socket.create_connection(("127.0.0.2", served.port), timeout=2).close()


def test_ten_pages_at_once_each_have_a_desk_of_their_own(served):
    def sit(number):
        with served.talk() as talk:
            hear(talk, "answer", number=0)
            heading_deg = 3.0 * number
            for step in range(1, 4):
                said = ask(talk, "change", step, changes={"direction.heading": heading_deg + step})
                assert said["heading_deg"] == heading_deg + step
            return ask(talk, "undo", 9)["heading_deg"]

    with ThreadPoolExecutor(10) as pages:
        assert list(pages.map(sit, range(10))) == [3.0 * number + 2 for number in range(10)]


def test_a_page_that_hears_slowly_holds_up_no_other(served):
    with served.talk(max_queue=1) as slow, served.talk() as quick:
        for number in range(1, 30):
            slow.send(json.dumps(
                {"do": "change", "number": number, "changes": {"direction.heading": number}}
            ))  # fmt: skip
        hear(quick, "answer", number=0)
        assert ask(quick, "change", 1, changes={"direction.heading": 7})["heading_deg"] == 7
        assert hear(slow, "answer", number=29)["heading_deg"] == 29


def test_what_can_not_be_read_is_refused_and_the_talk_goes_on(served):
    with served.talk() as talk:
        hear(talk, "answer", number=0)
        for text in ("", "{", "[]", "null", "[" * 3000, '{"do": 1}', '{"do": "\\ud800"}'):
            talk.send(text)
            assert hear(talk, "refused")["faults"]
        assert ask(talk, "change", 5, changes={"direction.heading": 7})["say"] == "answer"
        talk.send(b"\x00")
        with pytest.raises(ConnectionClosed):
            hear(talk, "answer")


def test_a_message_a_byte_too_long_ends_the_talk_and_no_other(tmp_path, monkeypatch):
    """Held at a limit of a hundred kilobytes: the real one is fourteen hundred times that."""
    monkeypatch.setattr("striplay.table.server.MAX_TALK_BYTES", 100_000)
    served = Served(write_small(tmp_path))
    try:
        with served.talk() as other, served.talk() as talk:
            for one in (other, talk):
                hear(one, "answer", number=0)
            talk.send("x" * 100_000)
            assert hear(talk, "refused")["faults"] == [
                "what can't be read: is nothing that can be done here"
            ]
            talk.send("x" * 100_001)
            with pytest.raises(ConnectionClosed, match="1009"):
                talk.recv(timeout=30)
            assert ask(other, "undo", 1)["say"] == "answer"
    finally:
        served.server.should_exit = True
        served.thread.join(20)


def test_a_page_more_than_there_may_be_is_told_so(tmp_path, monkeypatch, served):
    monkeypatch.setattr("striplay.table.server.MAX_DESKS", 1)
    with served.talk() as talk:
        hear(talk, "answer", number=0)
        with served.talk() as second, pytest.raises(ConnectionClosed, match="1 pages are open"):
            second.recv(timeout=30)
        assert ask(talk, "undo", 1)["say"] == "answer"


def test_long_work_in_a_process_of_its_own_tells_and_is_ended(served):
    with served.talk() as talk:
        hear(talk, "answer", number=0)
        said = ask(talk, "best", 1)
        assert said["say"] == "answer"
        assert said["heading_deg"] in {0.0, 90.0}
        assert ask(talk, "change", 2, changes={"direction.heading": 33})["say"] == "answer"
        talk.send(json.dumps({"do": "best", "number": 3}))
        talk.send(json.dumps({"do": "cancel", "number": 4}))
        assert "ended" in hear(talk, "lost")["words"]
        assert ask(talk, "change", 5, changes={"title": "x"})["heading_deg"] == 33


def test_a_page_loaded_again_has_the_plan_as_it_was_saved(tmp_path):
    path = write_small(tmp_path)
    served = Served(path)
    try:
        with served.talk() as talk:
            hear(talk, "answer", number=0)
            ask(talk, "change", 1, changes={"direction.heading": 7})
            assert ask(talk, "save", 2, name="plan")["say"] == "answer"
        with served.talk() as talk:
            assert hear(talk, "answer", number=0)["heading_deg"] == 7
            ask(talk, "change", 1, changes={"direction.heading": 8})
            assert ask(talk, "save", 2, name="plan")["say"] == "answer"
            path.write_text("title = 3")
        with served.talk() as talk:  # what was good last, and what is bad there stays
            assert hear(talk, "answer", number=0)["heading_deg"] == 8
            assert "changed in the folder" in ask(talk, "save", 1, name="plan")["faults"][0]
            assert ask(talk, "save", 2, name="other")["say"] == "answer"
            ask(talk, "change", 3, changes={"direction.heading": 9})
        with served.talk() as talk:  # the one saved last, under another name
            assert hear(talk, "ground")["file"] == "other.toml"
            said = hear(talk, "answer", number=0)
            assert (said["heading_deg"], said["changed"]) == (8, [])
    finally:
        served.server.should_exit = True
        served.thread.join(20)
    assert path.read_text() == "title = 3"


def test_killed_and_begun_anew_a_table_takes_the_plan_that_a_page_kept(tmp_path):
    path = write_small(tmp_path)
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}

    def begin():
        command = [sys.executable, "-m", "striplay", "table", str(path), "--no-browser"]
        running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                                   text=True, env=environment)  # fmt: skip
        return running, running.stdout.readline().strip()

    def talk_at(address):
        origin, token = address.removesuffix("/").rsplit("/", 1)
        where = f"{origin.replace('http', 'ws')}/{token}/talk"
        return connect(where, origin=origin, max_size=None)

    first, address = begin()
    with talk_at(address) as talk:
        hear(talk, "answer", number=0)
        mine = ask(talk, "change", 1, changes={"direction.heading": 44.5})
        first.kill()
        with pytest.raises(ConnectionClosed):
            hear(talk, "nothing")
    first.communicate()
    second, again = begin()
    assert again.rsplit("/", 2)[1] != address.rsplit("/", 2)[1]
    with talk_at(again) as talk:
        assert hear(talk, "answer", number=0)["heading_deg"] == 0.0
        said = ask(talk, "document", 2, toml=mine["document"])
        assert said["strips"] == mine["strips"]
        assert said["figures"] == mine["figures"]
        second.send_signal(signal.SIGINT)
        told = second.communicate(timeout=20)[1]
    assert second.returncode == 0
    assert told == "open it in a browser on this computer; Ctrl-C ends it\n"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["field.geojson", "plan.toml"]


def test_a_plan_that_can_not_be_used_is_refused_before_anything_is_served(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text("title = 3")
    result = CliRunner().invoke(main, ["table", str(path), "--no-browser"])
    assert (result.exit_code, result.stdout) == (2, "")
    assert "title: 3" in result.stderr
    missing = CliRunner().invoke(main, ["table", str(tmp_path / "no.geojson"), "--no-browser"])
    assert missing.exit_code == 2
    assert "is not there; are name and folder right?" in missing.stderr


def test_a_port_that_is_taken_is_told(tmp_path):
    path = write_small(tmp_path)
    with socket.create_server((HOST, 0)) as taken:
        port = str(taken.getsockname()[1])
        result = CliRunner().invoke(main, ["table", str(path), "--no-browser", "--port", port])
    assert result.exit_code == 2
    assert f"port {port}: " in result.stderr
    assert "leave --port out" in result.stderr


@pytest.mark.parametrize("name", ["none.txt", "none.geojson", "none.toml"])
def test_a_table_of_a_file_that_is_not_there_is_refused_as_lay_refuses_it(tmp_path, name):
    with pytest.raises(StriplayError) as refused:
        opened(tmp_path / name, tmp_path)
    assert str(refused.value).endswith(f"{name}: is not there; are name and folder right?")


def test_a_table_opened_with_a_boundary_begins_a_plan_that_is_not_written(tmp_path):
    path = write_field(tmp_path, square(900), "north.geojson")
    start = opened(path, tmp_path)
    assert (start.path, start.on_disk) == (tmp_path / "north.toml", False)
    assert start.plan.field.boundary == "north.geojson"
    assert not start.path.exists()
    empty = opened(None, tmp_path)
    assert (empty.text, empty.path.parent) == (None, Path(tmp_path))
