"""A page and a PDF as their readers meet them."""

from __future__ import annotations

import os
import re
import subprocess
from dataclasses import dataclass, field
from html.parser import HTMLParser

NUMBER = re.compile(r"(?<![\w.])[−-]?\d+(?:\.\d+)?(?![\w])")
VOID = {"meta", "input", "col", "br", "img", "link", "wbr"}
#: Elements whose text is not shown; a drawing's title and description are spoken, not printed.
UNSHOWN = {"head", "style", "title", "desc", "script"}
#: What another process needs to import the same package.
IMPORTS = {"PYTHONPATH": os.environ.get("PYTHONPATH", "")}


@dataclass
class Element:
    tag: str
    attributes: dict[str, str | None]
    parents: tuple[str, ...]
    text: list[str] = field(default_factory=list)


class Page(HTMLParser):
    """Every element of a page in order, and the text pieces that a reader sees."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[Element] = []
        self.shown: list[str] = []
        self._open: list[Element] = []
        self.feed(html)
        self.close()
        assert not self._open, [element.tag for element in self._open]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, dict(attrs), tuple(item.tag for item in self._open))
        self.elements.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append(Element(tag, dict(attrs), tuple(item.tag for item in self._open)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open, f"</{tag}> closes nothing"
        assert self._open[-1].tag == tag, f"</{tag}> closes <{self._open[-1].tag}>"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        for element in self._open:
            element.text.append(data)
        if not any(element.tag in UNSHOWN for element in self._open):
            self.shown.append(data)

    def all(self, *tags: str) -> list[Element]:
        return [element for element in self.elements if element.tag in tags]

    def of_class(self, name: str) -> list[Element]:
        return [e for e in self.elements if name in (e.attributes.get("class") or "").split()]


def words(element: Element) -> str:
    """Text of an element, spaces drawn together."""
    return " ".join("".join(element.text).split())


def text_of(pdf: bytes, order: str = "-layout") -> str:
    """What a reader finds by searching: the text of a PDF, from the program that viewers share."""
    done = subprocess.run(["pdftotext", order, "-", "-"], input=pdf, capture_output=True, check=True)
    return done.stdout.decode()
