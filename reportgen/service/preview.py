"""The binder in a browser while it is watched: on this machine only, with what keeps a build from being published on top.

The published bytes are served as they are, in a frame; the page around it asks for ``status.json`` and loads the frame
again when other pages are published. While a PDF is laid out, the pages that wait for it are shown instead, and no PDF of
another state beside them. Only files that the published manifest names are handed out, or that were lent; after a check
of the ``Host`` header: a page elsewhere that points its own name at this machine gets nothing.
"""

from __future__ import annotations

import hashlib
import json
import mimetypes
import threading
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Any

from reportgen.binder.assets import template_dir
from reportgen.service.ahead import Lent
from reportgen.service.manifest import MANIFEST, read_manifest
from reportgen.service.status import read_status, status_path

LOOPBACK = "127.0.0.1"
_PAGES = "binder.html"
_MOST_BYTES = 256 * 1024 * 1024
_ALWAYS = (
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cache-Control", "no-store"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
)
_SHELL_POLICY = "; ".join(
    [
        "default-src 'none'",
        *(f"{kind}-src 'self'" for kind in ("frame", "connect", "style", "script")),
        *(f"{kind} 'none'" for kind in ("base-uri", "form-action", "frame-ancestors")),
    ]
)
_SHELL = {"": "preview.html", "preview.css": "preview.css", "preview.js": "preview.js"}

Environ = dict[str, Any]
StartResponse = Callable[[str, list[tuple[str, str]]], object]


class Preview:
    """A WSGI application over one output folder; it reads and never writes.

    Parameters
    ----------
    target : Path
        The output folder.
    port : int
        Port it is reached on; part of every ``Host`` that is answered.
    lent : Lent, optional
        Pages that wait for their PDF.
    """

    def __init__(self, target: Path, port: int, lent: Lent | None = None) -> None:
        self.target = target
        self._lent = lent or Lent()
        self.hosts = frozenset({f"{LOOPBACK}:{port}", f"localhost:{port}"})

    def __call__(self, environ: Environ, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request."""
        status, headers, body = self._answer(environ)
        start_response(status, [*_ALWAYS, *headers, ("Content-Length", str(len(body)))])
        return [] if environ.get("REQUEST_METHOD") == "HEAD" else [body]

    def _answer(self, environ: Environ) -> tuple[str, list[tuple[str, str]], bytes]:
        if environ.get("HTTP_HOST", "") not in self.hosts:
            return _plain("403 Forbidden", "this preview answers to its own address only")
        if environ.get("REQUEST_METHOD") not in {"GET", "HEAD"}:
            return _plain("405 Method Not Allowed", "this preview is for reading")
        # WSGI hands the path on as Latin-1; what is no UTF-8 names no file of ours
        path = (
            environ.get("PATH_INFO", "").encode("latin-1", "replace").decode("utf-8", "replace").lstrip("/")
        )
        if path in _SHELL:
            return _shell(_SHELL[path])
        if path == "status":
            return "200 OK", [("Content-Type", "application/json; charset=utf-8")], self.state()
        if path.startswith("binder/"):
            return self._published(path.removeprefix("binder/"))
        return _plain("404 Not Found", "there is no such page")

    def state(self) -> bytes:
        """What the page around the binder shows, as JSON: the watcher's status, and which binder is published."""
        status = read_status(status_path(self.target))
        known = read_manifest(self.target)
        lent = self._lent.pages
        # Of the pages and not of the whole binder: a PDF that comes to them is no reason to load them again.
        if lent is not None:
            generation = hashlib.sha256(lent[1].outputs.get(_PAGES, b"")).hexdigest()
        else:
            generation = known.files.get(_PAGES, "") if known else ""
        document: Mapping[str, Any] = {
            "status": asdict(status) if status else None,
            "binder": generation[:16],
            "ahead": lent is not None and status is not None and lent[0] == status.input_digest,
        }
        return json.dumps(document, sort_keys=True).encode()

    def _published(self, path: str) -> tuple[str, list[tuple[str, str]], bytes]:
        if (lent := self._lent.pages) is not None:
            data = lent[1].outputs.get(path)
            if data is None:
                return _plain("404 Not Found", "these pages wait for their PDF; this file comes with it")
            return _file(path, data)
        known = read_manifest(self.target)
        if known is None:
            return _plain("404 Not Found", "no binder is published yet")
        if path != MANIFEST and path not in known.files:
            return _plain("404 Not Found", "the published binder has no such file")
        file = self.target / path
        try:
            # names come from the manifest, which the tool wrote; links are not followed all the same
            if file.is_symlink() or not file.resolve().is_relative_to(self.target.resolve()):
                return _plain("403 Forbidden", "this file lies outside the binder")
            if file.stat().st_size > _MOST_BYTES:
                return _plain("403 Forbidden", "this file is too large for the preview")
            data = file.read_bytes()
        except OSError:
            return _plain("404 Not Found", "the published binder has no such file")
        return _file(path, data)


def _file(path: str, data: bytes) -> tuple[str, list[tuple[str, str]], bytes]:
    kind = mimetypes.guess_type(path)[0] or "application/octet-stream"
    return "200 OK", [("Content-Type", f"{kind}; charset=utf-8" if kind.startswith("text/") else kind)], data


def _shell(name: str) -> tuple[str, list[tuple[str, str]], bytes]:
    data = (template_dir() / "preview" / name).read_bytes()
    kind = {"html": "text/html", "css": "text/css", "js": "text/javascript"}[name.rpartition(".")[2]]
    return (
        "200 OK",
        [("Content-Type", f"{kind}; charset=utf-8"), ("Content-Security-Policy", _SHELL_POLICY)],
        data,
    )


def _plain(status: str, text: str) -> tuple[str, list[tuple[str, str]], bytes]:
    return status, [("Content-Type", "text/plain; charset=utf-8")], f"{text}\n".encode()


class PreviewServer:
    """The preview on a port of this machine, in a thread.

    Parameters
    ----------
    target : Path
        The output folder.
    port : int
        Port to listen on; 0 takes a free one.
    lent : Lent, optional
        Pages that wait for their PDF.

    Raises
    ------
    OSError
        If the port cannot be had.
    """

    def __init__(self, target: Path, port: int = 0, lent: Lent | None = None) -> None:
        from waitress import wasyncore  # noqa: PLC0415 - only where a preview is wanted
        from waitress.server import create_server  # noqa: PLC0415

        self._lines: Preview | None = None
        self._ended = threading.Event()
        self._sockets: dict[int, object] = {}
        self._loop = partial(wasyncore.loop, timeout=1.0, map=self._sockets, use_poll=True, count=1)
        self._close_all = partial(wasyncore.close_all, self._sockets, ignore_all=True)
        self._server = create_server(
            self._pass_on, host=LOOPBACK, port=port, threads=2, ident="", map=self._sockets
        )
        self.port = int(self._server.effective_port)
        self._lines = Preview(target, self.port, lent)
        self._thread = threading.Thread(target=self._serve, name="reportgen-preview", daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        # closing from another thread would take the sockets away under the loop
        while not self._ended.is_set():
            self._loop()
        self._server.task_dispatcher.shutdown()
        self._close_all()

    def _pass_on(self, environ: Environ, start_response: StartResponse) -> Iterable[bytes]:
        assert self._lines is not None
        return self._lines(environ, start_response)

    @property
    def address(self) -> str:
        """Where the browser finds it."""
        return f"http://{LOOPBACK}:{self.port}/"

    def close(self) -> None:
        """Stop listening."""
        self._ended.set()
        self._server.pull_trigger()
        self._thread.join(5.0)
