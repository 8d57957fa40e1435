"""The guide: Markdown pages that ship with the package, with tables filled in from the models when they are read."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Mapping
from importlib.resources import files as package_files

from reportgen.authoring.keys import keys_markdown
from reportgen.authoring.units import units_markdown
from reportgen.project.model import Project

#: Pages in the order of reading, with what each is about.
PAGES: Mapping[str, str] = {
    "first-hour": "from an empty folder to the first useful finding",
    "folder": "the project folder, section by section, with every key",
    "units": "how a value is written",
    "findings": "how to read a finding, and what to do about it",
    "hand-over": "what to give to the electrician, and what to keep",
    "git": "the folder under version control",
    "ci": "checks on every change, by a machine",
    "numbers-strings": "how string voltages and currents are made",
    "numbers-conductors": "how ampacity, terminals and voltage drop are made",
    "numbers-raceways": "how fill and bends are made",
    "numbers-overcurrent": "how the need of a fuse and its rating are made",
    "numbers-boxes": "how boxes, cover and movement of pipes are made",
    "numbers-pulling": "how pull tensions and cut lengths are made",
    "numbers-grounding": "how equipment grounding is made",
    "numbers-readings": "how readings are judged",
    "numbers-energy": "how the year and the wire loss are made",
}
LOOPBACK = "127.0.0.1"
_FILL = re.compile(r"^\{\{(?P<what>keys|units)(?: (?P<section>[a-z]+))?\}\}$", re.MULTILINE)
_STYLE = (
    "body{max-width:56rem;margin:2rem auto;padding:0 1rem;font:16px/1.5 system-ui,sans-serif;color:#1c1c1c;background:#fff}"
    "table{border-collapse:collapse;width:100%;font-size:.9em}td,th{border-bottom:1px solid #ccc;padding:.25em .5em;"
    "text-align:left;vertical-align:top}pre{background:#f3f3f1;padding:.8em;overflow-x:auto}code{font-size:.92em}"
    "nav a{margin-right:1em}h1,h2{line-height:1.2}"
)


class NoPage(LookupError):
    """Raised for a page that the guide does not have; carries the name asked for."""


def page(name: str) -> str:
    """Markdown of a page, its tables filled in.

    Raises
    ------
    NoPage
        If there is none of this name.
    """
    if name not in PAGES:
        raise NoPage(name)
    text = (package_files("reportgen") / "guide" / f"{name}.md").read_text(encoding="utf-8")
    if name == "folder":
        # A section that the page does not speak of yet is shown all the same, with what the models say of it.
        shown = sections_shown(text)
        for section, field in Project.model_fields.items():
            if section not in shown:
                text += f"\n## {section}\n\n{field.description}.\n\n{{{{keys {section}}}}}\n"
    return _FILL.sub(_filled, text)


def _filled(match: re.Match[str]) -> str:
    if match["what"] == "units":
        return units_markdown()
    return keys_markdown(match["section"])


def sections_shown(text: str) -> list[str]:
    """Sections whose keys a page, before it is filled, asks for."""
    return [match["section"] for match in _FILL.finditer(text) if match["what"] == "keys"]


def as_html(name: str, link: Callable[[str], str] = lambda page: f"{page}.html") -> str:
    """Page as one HTML file, with links to the others; it fetches nothing.

    Parameters
    ----------
    name : str
        Page of the guide.
    link : callable
        Address of a page by its name.
    """
    from markdown_it import MarkdownIt  # noqa: PLC0415 - only where pages are shown

    body = MarkdownIt("commonmark", {"html": False}).enable("table").render(page(name))
    body = re.sub(r'href="([a-z-]+)\.md"', lambda match: f'href="{link(match[1])}"', body)
    listed = " ".join(
        f'<a href="{link(key)}" title="{html.escape(words)}"{" aria-current=page" if key == name else ""}>{key}</a>'
        for key, words in PAGES.items()
    )
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{name} · reportgen guide</title>'
        f"<style>{_STYLE}</style></head>\n<body><nav>{listed}</nav>\n<main>{body}</main></body></html>\n"
    )


def answer(path: str, host: str | None, port: int) -> tuple[int, str]:
    """Status and page for a request to the guide's own server.

    Parameters
    ----------
    path : str
        Path asked for; the top is the first page.
    host : str or None
        Host that the browser believes it talks to; another name pointing at this machine gets nothing.
    port : int
        Port that is served.
    """
    if host not in {f"{LOOPBACK}:{port}", f"localhost:{port}"}:
        return 403, "this server answers this machine alone\n"
    name = path.partition("?")[0].strip("/").removesuffix(".html") or next(iter(PAGES))
    try:
        return 200, as_html(name)
    except NoPage:
        return 404, f"the guide has no page {html.escape(name)}\n"


def serve(port: int, ready: Callable[[str], object]) -> None:
    """Serve the guide on a port of this machine until interrupted; `ready` is told its address."""
    from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer  # noqa: PLC0415 - only where it is served

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            status, body = answer(self.path, self.headers.get("Host"), server.server_port)
            data = body.encode()
            self.send_response(status)
            self.send_header("Content-Type", "text/html; charset=utf-8")
            self.send_header("Content-Length", str(len(data)))
            self.send_header("X-Content-Type-Options", "nosniff")
            self.send_header("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'")
            self.end_headers()
            self.wfile.write(data)

        def log_message(self, format: str, *args: object) -> None:
            """Keep quiet: a page read is no news."""

    with ThreadingHTTPServer((LOOPBACK, port), Handler) as server:
        ready(f"http://{LOOPBACK}:{server.server_port}/")
        server.serve_forever()


def contents() -> str:
    """List of the pages as plain text."""
    width = max(map(len, PAGES))
    return "\n".join(f"{name:<{width}}  {words}" for name, words in PAGES.items())
