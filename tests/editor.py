"""A project file as an editor's language server sees it: YAML 1.2 core schema, no dates, no `yes`."""

from __future__ import annotations

import re
from typing import Any

from reportgen.diagnostics.model import Sink
from reportgen.project.nodes import Map, Scalar, Seq
from reportgen.project.reader import read_yaml

_WORDS = {"true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False}


def as_editor(data: bytes) -> Any:
    sink = Sink()
    tree = read_yaml("a.yaml", data, sink)
    return None if tree is None or sink.has_errors else value_of(tree)


def value_of(node: object) -> Any:
    if isinstance(node, Map):
        return {str(key): value_of(value) for key, value in node.items()}
    if isinstance(node, Seq):
        return [value_of(item) for item in node]
    assert isinstance(node, Scalar)
    text = str(node)
    if node.quoted:
        return text
    if node.is_null:
        return None
    if text in _WORDS:
        return _WORDS[text]
    if re.fullmatch(r"[-+]?[0-9]+", text):
        return int(text)
    if re.fullmatch(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", text):
        return float(text)
    return text
