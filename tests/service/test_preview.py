"""The preview over real sockets: what it shows, what it follows, and what it does not hand out."""

from __future__ import annotations

import http.client
import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from service_fakes import Running, outputs_of

from reportgen.service.ahead import Ahead, Lent
from reportgen.service.events import EventKind
from reportgen.service.manifest import manifest
from reportgen.service.preview import LOOPBACK, Preview, PreviewServer
from reportgen.service.publish import publish

Ask = Callable[..., tuple[int, dict[str, str], bytes]]


@pytest.fixture
def lent() -> Lent:
    return Lent()


@pytest.fixture
def server(project: Path, lent: Lent) -> Iterator[PreviewServer]:
    one = PreviewServer(project / "binder", lent=lent)
    yield one
    one.close()


@pytest.fixture
def ask(server: PreviewServer) -> Ask:
    def request(path: str, method: str = "GET", host: str | None = None) -> tuple[int, dict[str, str], bytes]:
        line = http.client.HTTPConnection(LOOPBACK, server.port, timeout=5)
        try:
            line.request(method, path, headers={"Host": host} if host is not None else {})
            answer = line.getresponse()
            return answer.status, dict(answer.getheaders()), answer.read()
        finally:
            line.close()

    return request


def test_shows_nothing_then_the_binder_then_the_next_one(ask: Ask, project: Path) -> None:
    assert json.loads(ask("/status")[2]) == {"ahead": False, "binder": "", "status": None}
    assert ask("/binder/binder.html")[0] == 404
    publish(outputs_of({"a.yaml": b"say: one\n"}, "1" * 64), project / "binder", project=project)
    first = json.loads(ask("/status")[2])["binder"]
    status, headers, body = ask(f"/binder/binder.html?{first}")
    assert (status, body) == (200, b"# a.yaml\nsay: one\n")
    assert headers["Content-Type"] == "text/html; charset=utf-8"
    publish(outputs_of({"a.yaml": b"say: two\n"}, "2" * 64), project / "binder", project=project)
    assert json.loads(ask("/status")[2])["binder"] not in ("", first)
    assert ask("/binder/binder.html")[2] == b"# a.yaml\nsay: two\n"
    assert ask("/binder/schedules/conductors.csv")[0] == 200


def test_a_refused_build_is_told_over_the_last_good_binder(
    ask: Ask, start: Callable[..., Running], project: Path
) -> None:
    watcher = start()
    watcher.wait_published()
    good = json.loads(ask("/status")[2])["binder"]
    (project / "a.yaml").write_text("")
    watcher.wait_kind(EventKind.REFUSED)
    told = json.loads(ask("/status")[2])
    assert told["binder"] == good
    assert told["status"]["stale"] is True
    assert told["status"]["errors"][0]["file"] == "a.yaml"
    assert ask("/binder/binder.html")[2] == b"# a.yaml\nsay: one\n"


def test_the_page_around_it_runs_its_own_script_alone(ask: Ask) -> None:
    status, headers, body = ask("/")
    assert status == 200
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert b"<script src=" in body
    for part in ("/preview.css", "/preview.js"):
        assert ask(part)[0] == 200
    assert b"innerHTML" not in ask("/preview.js")[2]


@pytest.mark.parametrize(
    "host", ["", "elsewhere.example", "127.0.0.1", "127.0.0.1:1", "localhost:80", "[::1]"]
)
def test_another_host_name_gets_nothing(ask: Ask, host: str) -> None:
    for path in ("/", "/status", "/binder/binder.html"):
        assert ask(path, host=host)[0] in {400, 403}


def test_localhost_is_an_own_name(ask: Ask, server: PreviewServer) -> None:
    assert ask("/status", host=f"localhost:{server.port}")[0] == 200


@pytest.mark.parametrize(
    "path",
    [
        "/binder/",
        "/binder",
        "/binder/schedules/",
        "/binder/../a.yaml",
        "/binder/%2e%2e/a.yaml",
        "/binder/..%2fa.yaml",
        "/binder//etc/passwd",
        "/binder/secret.txt",
        "/binder/%00",
        "/binder/%ff",
        "/a.yaml",
        "/preview.html/../preview.js",
    ],
)
def test_only_files_that_the_manifest_names_are_handed_out(ask: Ask, project: Path, path: str) -> None:
    target = project / "binder"
    publish(outputs_of({"a.yaml": b"say: one\n"}, "1" * 64), target, project=project)
    (target / "secret.txt").write_text("not ours")
    status, _, body = ask(path)
    assert status in {400, 403, 404}
    assert b"say" not in body and b"not ours" not in body and b"root:" not in body


def test_a_link_put_in_the_place_of_a_file_is_not_followed(ask: Ask, project: Path) -> None:
    target = project / "binder"
    publish(outputs_of({"a.yaml": b"say: one\n"}, "1" * 64), target, project=project)
    (target / "binder.html").unlink()
    (target / "binder.html").symlink_to(project / "a.yaml")
    assert ask("/binder/binder.html")[0] == 403


def test_reading_is_all_there_is(ask: Ask) -> None:
    assert ask("/status", method="POST")[0] == 405
    status, headers, body = ask("/status", method="HEAD")
    assert (status, body) == (200, b"")
    assert int(headers["Content-Length"]) > 0


def test_listens_on_this_machine_alone(server: PreviewServer) -> None:
    assert server.address == f"http://127.0.0.1:{server.port}/"
    assert Preview(Path("binder"), 80).hosts == {"127.0.0.1:80", "localhost:80"}


def test_pages_that_wait_for_their_pdf_are_shown_and_no_pdf_of_another_state(
    ask: Ask, server: PreviewServer, lent: Lent, project: Path
) -> None:
    old = {**outputs_of({"a.yaml": b"say: one\n"}, "1" * 64), "binder.pdf": b"%PDF of one"}
    old["manifest.json"] = manifest(
        {k: v for k, v in old.items() if k != "manifest.json"}, "1" * 64, "1", "t"
    )
    publish(old, project / "binder", project=project)
    assert ask("/binder/binder.pdf")[2] == b"%PDF of one"
    pages = {"binder.html": b"# a.yaml\nsay: two\n"}
    lent.pages = ("2" * 64, Ahead(pages, "1 meets", {}))
    ahead = json.loads(ask("/status")[2])["binder"]
    assert ask("/binder/binder.html")[2] == pages["binder.html"]
    assert ask("/binder/binder.pdf")[0] == 404
    lent.pages = None
    assert json.loads(ask("/status")[2])["binder"] != ahead
    assert ask("/binder/binder.pdf")[2] == b"%PDF of one"
    publish(outputs_of({"a.yaml": b"say: two\n"}, "2" * 64), project / "binder", project=project)
    # The same pages, now published: a browser need not load them again.
    assert json.loads(ask("/status")[2])["binder"] == ahead
