"""The HTML page to a tagged PDF with bookmarks, links and fields to fill in.

WeasyPrint lays the pages out. Nothing is fetched: the page brings its fonts, and the only files that could be
read are those of the templates. The same page gives the same bytes in every process, folder and time zone.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from html import unescape
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote, urlsplit

from reportgen.binder import tags
from reportgen.binder.assets import font_uris, template_dir
from reportgen.working.collector import uncollected

if TYPE_CHECKING:
    from weasyprint.urls import URLFetcher

#: What a Debian or Ubuntu machine has to have.
PACKAGES = ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0")

#: Date of enclosed files: what lies in a folder has no date of its own that two machines agree on.
_EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
_LINK = re.compile(r'<a [^>]*href="#([^"]+)"[^>]*>(.*?)</a>')
_TITLE = re.compile(r'<(?:h2|strong) id="([^"]+)-(?:title|name)">(.*?)</(?:h2|strong)>')
_LINE = re.compile(r'<tr id="(working-[^"]+)">\s*<th [^>]*>(.*?)</th>', re.S)
_TAG = re.compile(r"<[^>]*>")


class PangoMissing(Exception):
    """Raised when a system library that lays out text cannot be loaded.

    Attributes
    ----------
    packages : tuple of str
        Debian packages that hold the libraries.
    help : str
        The one thing to do.
    """

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.packages = PACKAGES
        self.help = f"install them with `sudo apt-get install {' '.join(PACKAGES)}`"


class FetchRefused(ValueError):
    """Raised for an address that a page has no business to read."""


@dataclass(frozen=True, slots=True)
class Enclosed:
    """A file to enclose in the archive PDF; ``source`` where the binder was made from it, else it was made with it."""

    name: str
    content: bytes
    source: bool


def write_pdf(html: str, *, images: Collection[str] = ()) -> bytes:
    """The PDF of a page made by :func:`reportgen.binder.html.render`.

    Parameters
    ----------
    html : str
        The whole page; its ``dcterms`` entries are the dates of the PDF.
    images : collection of str
        Data URIs of images that the tool itself made; every other one is refused.

    Raises
    ------
    PangoMissing
        If a system library is missing.
    """
    return write_pdfs(html, images=images)[0]


def write_pdfs(
    html: str, *, images: Collection[str] = (), enclosed: Sequence[Enclosed] | None = None
) -> tuple[bytes, ...]:
    """The PDF of a page, and the archive PDF with files enclosed where there are any; laid out once for both.

    Parameters
    ----------
    html, images
        As for :func:`write_pdf`.
    enclosed : sequence of Enclosed, optional
        Files for the archive; None makes none.

    Raises
    ------
    PangoMissing
        If a system library is missing.

    Notes
    -----
    The first is PDF/UA-1 (ISO 14289-1) with fields to fill in. The archive is PDF/A-3a (ISO 19005-3), whose fields are
    printed, because it is to look the same for ever.
    """
    try:
        from weasyprint import HTML, Attachment  # noqa: PLC0415 - half a second and native libraries
    except OSError as missing:
        raise PangoMissing(str(missing)) from missing
    # A layout makes a million objects that live to its end: a fifth of the time, and hardly any memory.
    with uncollected():
        page = HTML(string=html, base_url=None, url_fetcher=fetcher(images))
        document = page.render(pdf_variant="pdf/ua-1", pdf_forms=True)
        names = _link_names(html)
        finish = partial(tags.complete, names)
        found = [bytes(document.write_pdf(pdf_variant="pdf/ua-1", pdf_forms=True, finisher=finish))]
        if enclosed is not None:
            document.metadata.attachments = [
                Attachment(
                    string=item.content,
                    name=item.name,
                    description="input" if item.source else "made with the binder",
                    created=_EPOCH,
                    modified=_EPOCH,
                    relationship="Source" if item.source else "Data",
                )
                for item in enclosed
            ]
            close = partial(tags.close, names)
            found.append(bytes(document.write_pdf(pdf_variant="pdf/a-3a", finisher=close)))
    return tuple(found)


def fetcher(images: Collection[str] = ()) -> URLFetcher:
    """What answers when a page asks for a file: templates, the fonts of the page, and the images given.

    Its ``fetch`` raises :class:`FetchRefused` for anything else.
    """
    from weasyprint.urls import URLFetcher, URLFetcherResponse  # noqa: PLC0415

    known = font_uris() | frozenset(images)

    class TemplatesOnly(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
            if url in known:
                return super().fetch(url, headers)
            path = template_file(url)
            return URLFetcherResponse(path.as_uri(), path.read_bytes())

    return TemplatesOnly(allowed_protocols={"data"}, allow_redirects=False)


def template_file(url: str) -> Path:
    """The file of the templates that a ``file:`` address names.

    Raises
    ------
    FetchRefused
        If it names anything outside the folder of templates, links followed, or no file.
    """
    parts = urlsplit(url)
    folder = template_dir().resolve()
    if parts.scheme == "file" and parts.netloc in {"", "localhost"} and "\0" not in unquote(parts.path):
        path = Path(unquote(parts.path)).resolve()
        if path.is_relative_to(folder) and path.is_file():
            return path
    msg = f"refused to read {url[:100]!r}"
    raise FetchRefused(msg)


def _link_names(html: str) -> dict[str, str]:
    """What a reader that speaks calls the target of each link: its own title, else the fullest text of a link."""
    names: dict[str, str] = {}
    for target, inner in _LINK.findall(html):
        text = " ".join(unescape(_TAG.sub("", inner)).split())
        names[target] = max(names.get(target, ""), text, key=len)
    titles = {
        target: " ".join(unescape(_TAG.sub("", inner)).split())
        for target, inner in (*_TITLE.findall(html), *_LINE.findall(html))
    }
    return names | {target: title for target, title in titles.items() if target in names}
