"""A job open on a real server on this machine, worked on as the page does."""

from __future__ import annotations

import http.client
import json
import socket
import threading

import numpy as np
import pytest

from sumpwright.flow import run
from sumpwright.job import read_job
from sumpwright.motion.cover import OpenTop
from sumpwright.oil.level import LevelCurve
from sumpwright.web.run_server import JobServer
from sumpwright.web.stage_process import unmarked
from tests.jobs.laid_out import laid_out
from tests.web.asking import Page

SECONDS = 120.0


class OpenJob:
    """A server, a page, and what the page heard."""

    def __init__(self, folder) -> None:
        self.folder = folder
        self.server = JobServer(folder)
        self.server.start()
        self.page = Page(self.server.port, self.server.key)
        self.events: list[dict] = []
        self._news = threading.Condition()
        threading.Thread(target=self._listen, daemon=True).start()
        self.wait_for(lambda: any(event["event"] == "here" for event in self.events))

    def _listen(self) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=SECONDS)
        connection.request("GET", "/events", None, {"Sumpwright-Key": self.server.key})
        answer = connection.getresponse()
        while line := answer.readline():
            if line.startswith(b"data:"):
                with self._news:
                    self.events.append(json.loads(line[5:]))
                    self._news.notify_all()

    def wait_for(self, is_so) -> None:
        with self._news:
            assert self._news.wait_for(is_so, SECONDS), [event["event"] for event in self.events]

    def settled(self) -> dict:
        self.wait_for(lambda: any(event["event"] == "settled" for event in self.events))
        return self.page.get("/sheet")

    def put(self, key: str, text: str) -> dict:
        self.events.clear()
        edit = {"do": "set", "file": "job", "key": key, "text": text, "was": None}
        return self.page.post("/edit", {"version": "", "edits": [edit]})


@pytest.fixture(scope="module")
def open_job(tmp_path_factory):
    job = OpenJob(laid_out(tmp_path_factory.mktemp("open"), "motor-sailer"))
    yield job
    job.server.close()


def test_the_sheet_says_what_the_command_line_says(open_job):
    sheet = open_job.settled()
    job = read_job(open_job.folder)
    said = {(row["code"], row["where"]): row["verdict"] for says in sheet["says"] for row in says["findings"]}
    checked = {(one.code, one.where): one.verdict.value for one in run(unmarked(job)).findings}
    assert said == checked
    assert sheet["run"]["stale"] == []
    assert {says["section"] for says in sheet["says"] if says["tables"]} >= {"rail", "oil", "kit"}


def test_one_key_works_out_again_what_it_reaches_and_no_more(open_job):
    open_job.settled()
    pictures = open_job.page.get("/sheet")["pictures"]
    answer = open_job.put("pump.idle_speed", "640 rpm")
    assert answer["outcome"] == "taken"
    sheet = open_job.settled()
    assert sheet["pictures"]["parts"] == pictures["parts"]
    assert sheet["pictures"]["cover"] == pictures["cover"]
    assert sheet["pictures"]["suction"] != pictures["suction"]
    assert sheet["last_change"]["key"] == "pump.idle_speed"
    open_job.events.clear()
    open_job.page.post("/undo", {"version": ""})
    assert open_job.settled()["pictures"] == pictures


@pytest.mark.expected_from("property", "the page gets the body's own corners, in millimetres")
def test_pictures_are_drawn_from_what_was_worked_out(open_job):
    open_job.settled()
    pan = open_job.page.get("/pan")
    job = read_job(open_job.folder)
    body = run(job, ("body",)).body
    vertices = np.array(pan["vertices_mm"]).reshape(-1, 3)
    assert np.allclose(vertices, body.cavity.vertices * 1e3, atol=1e-3)
    assert [face["name"] for face in pan["faces"]] == [face.name for face in body.cavity.faces]
    volume = 0.0
    for face in pan["faces"]:
        for a, b, c in np.array(face["triangles"]).reshape(-1, 3):
            volume += vertices[a] @ np.cross(vertices[b], vertices[c]) / 6.0
    assert volume / 1e6 == pytest.approx(pan["volume_l"], rel=1e-4)
    low, high = vertices.min(axis=0) - 60.0, vertices.max(axis=0) + 60.0
    for says in open_job.page.get("/sheet")["says"]:
        for row in says["findings"]:
            if row["place_mm"] is not None and says["section"] in ("body", "kit"):
                assert np.all(np.array(row["place_mm"])[:2] > low[:2] - 400.0)
                assert np.all(np.array(row["place_mm"])[:2] < high[:2] + 400.0)
    parts = open_job.page.get("/parts")
    assert len(parts["parts"]) > 5
    assert {part["step"] for part in parts["parts"]} == set(range(1, len(parts["parts"]) + 1))
    rail = open_job.page.get("/rail-plan")
    assert len(rail["holes"]) == 26
    for name in ("cover", "traces", "suction", "replay"):
        open_job.page.get(f"/{name}")


def test_what_an_editor_writes_comes_up_on_the_page(open_job):
    open_job.settled()
    open_job.events.clear()
    path = open_job.folder / "job.toml"
    old = path.read_text("utf-8")
    path.write_text(old.replace('name = "', 'name = "Other ', 1), "utf-8")
    open_job.wait_for(lambda: any(event["event"] == "files" for event in open_job.events))
    event = next(event for event in open_job.events if event["event"] == "files")
    assert event["by"] == "outside"
    assert [row["key"] for row in event["fields"]] == ["job.name"]
    path.write_text(old, "utf-8")
    open_job.server.sheet.bench.notice_outside()


def test_the_newest_of_many_changes_wins(open_job):
    open_job.settled()
    for k in range(6):
        answer = open_job.put("oil.fill", f"{11.0 + k / 10} L")
    open_job.wait_for(
        lambda: any(
            event["event"] == "settled" and event["run"]["generation"] == answer["generation"]
            for event in open_job.events
        )
    )
    assert open_job.page.get("/sheet")["last_change"]["after"] == "11.5 L"
    assert 'fill = "11.5 L"' in (open_job.folder / "job.toml").read_text("utf-8")
    for _ in range(6):
        open_job.page.post("/undo", {"version": ""})


def test_a_change_can_be_tried_without_writing_it(open_job):
    open_job.settled()
    before = (open_job.folder / "job.toml").read_bytes()
    tried = open_job.page.post("/try", {"key": "oil.fill", "value": "30 L"})
    assert tried["faults"] == []
    assert any(step["step"] in ("worse", "new") for step in tried["steps"])
    assert (open_job.folder / "job.toml").read_bytes() == before
    refused = open_job.page.post("/try", {"key": "oil.fill", "value": "much"})
    assert refused["faults"]


@pytest.mark.parametrize(
    ("method", "path", "message", "headers", "status"),
    [
        ("GET", "/sheet", None, {"Host": "evil.example"}, 403),
        ("GET", "/", None, {"Host": "evil.example:80"}, 403),
        ("GET", "/sheet", None, {"Origin": "http://evil.example"}, 403),
        ("GET", "/sheet", None, {"Sumpwright-Key": "wrong"}, 401),
        ("POST", "/edit", {}, {"Sumpwright-Key": ""}, 401),
        ("PUT", "/edit", {}, {}, 405),
        ("GET", "/edit", None, {}, 405),
        ("POST", "/sheet", {}, {}, 405),
        ("GET", "/../job.toml", None, {}, 404),
        ("GET", "/assets/../../run_server.py", None, {}, 404),
        ("GET", "/assets/%2e%2e/%2e%2e/run_server.py", None, {}, 404),
        ("GET", "/assets//etc/passwd", None, {}, 404),
        ("GET", "/pack-file?name=../job.toml", None, {}, 404),
        ("GET", "/pack-file?name=%2Fetc%2Fpasswd", None, {}, 404),
        ("GET", "/nothing", None, {}, 404),
        ("POST", "/edit", {"version": "", "edits": []}, {}, 422),
        ("POST", "/edit", {"version": "", "edits": [{"do": "burn"}]}, {}, 422),
        ("POST", "/edit", [1, 2], {}, 422),
        ("POST", "/edit", b"{", {"Content-Type": "application/json"}, 422),
        ("POST", "/edit", b"\xff\xfe", {"Content-Type": "application/json"}, 422),
        ("POST", "/edit", b"[" * 100000, {"Content-Type": "application/json"}, 422),
        ("POST", "/edit", b"x" * 300000, {"Content-Type": "application/json"}, 413),
        ("POST", "/edit", b"{}", {"Content-Type": "text/plain"}, 415),
        ("POST", "/lean", {"nose_up_deg": 1e9}, {}, 422),
        ("POST", "/lean", b'{"nose_up_deg": NaN}', {"Content-Type": "application/json"}, 422),
        ("POST", "/upload?name=../x.png&kind=picture", b"\x89PNG\r\n\x1a\n", {}, 400),
        ("POST", "/upload?name=job.toml&kind=scan", b"x", {}, 400),
        ("POST", "/upload?name=.x.csv&kind=log", b"x", {}, 400),
        ("POST", "/upload?name=rail.csv&kind=log", b"x", {}, 400),
        ("POST", "/upload?name=x.png&kind=picture", b"MZ", {}, 400),
        ("POST", "/upload?name=x.exe&kind=picture", b"MZ", {}, 400),
    ],
)
def test_hostile_requests_are_refused(open_job, method, path, message, headers, status):
    before = sorted(path.name for path in open_job.folder.iterdir())
    answer = open_job.page.ask(method, path, message, **headers)
    assert answer.status == status, answer.body
    assert "content-security-policy" in answer.headers
    assert b"Traceback" not in answer.body
    assert sorted(path.name for path in open_job.folder.iterdir()) == before


def test_it_listens_on_this_machine_only(open_job):
    assert open_job.server._socket.getsockname()[0] == "127.0.0.1"
    others = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    for other in others - {"127.0.0.1"}:
        if other.startswith("127."):
            continue
        with pytest.raises(OSError, match=r"refused|timed out"):
            socket.create_connection((other, open_job.server.port), timeout=1.0)


def test_a_file_is_taken_into_the_job_folder_once(open_job):
    body = b"time,ax\n0,0\n"
    answer = open_job.page.ask("POST", "/upload?name=lap.csv&kind=log", body)
    assert answer.status == 200
    assert (open_job.folder / "lap.csv").read_bytes() == body
    assert open_job.page.ask("POST", "/upload?name=lap.csv&kind=log", b"other").status == 400
    assert (open_job.folder / "lap.csv").read_bytes() == body
    (open_job.folder / "lap.csv").unlink()


@pytest.mark.expected_from(
    "property", "the litres asked for stand below the level, and the drawn surface is the volume's slope"
)
def test_the_oil_stands_where_the_sliders_put_it(open_job):
    open_job.settled()
    body = run(read_job(open_job.folder), ("body",)).body
    surface = OpenTop.of(body).surface
    for nose, lean, brake in ((0.0, 0.0, 0.0), (9.0, -4.0, 0.0), (-7.0, 21.0, 0.3), (0.0, -25.0, -0.2)):
        message = {"nose_up_deg": nose, "lean_right_deg": lean, "braking_g": brake, "left_turn_g": 0.1,
                   "litres": 9.0}  # fmt: skip
        answer = open_job.page.post("/lean", message)
        up, shared = np.array(answer["up"]), answer["surfaces"][0]
        curve = LevelCurve.prepare(surface, up)
        level = shared["level_mm"] * 1e-3
        assert curve.volume_below(level) * 1e3 == pytest.approx(9.0, abs=2e-3)
        step = 1e-4
        slope = (curve.volume_below(level + step) - curve.volume_below(level - step)) / (2 * step)
        area = 0.0
        for loop in shared["loops_mm"]:
            points = np.array(loop).reshape(-1, 3) * 1e-3
            assert np.allclose(points @ up, level, atol=2e-6)
            area += 0.5 * up @ np.sum(np.cross(points, np.roll(points, -1, axis=0)), axis=0)
        assert abs(area) == pytest.approx(slope, rel=0.02)


def test_half_a_question_is_not_answered(open_job):
    answer = open_job.page.ask("POST", "/lean", {"nose_up_deg": 0.0})
    assert answer.status == 422
