"""What the renderer's tags still lack for a reader that speaks, put right in the objects of a PDF before it is written.

ISO 14289-1 (PDF/UA-1) and ISO 19005-3 (PDF/A-3) ask for more than the renderer gives: header cells with their scope,
links with their names, one annotation a link, items that stand in lists; and an archive has nothing to fill in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pydyf import PDF, Dictionary

#: Elements that say nothing themselves: a reader passes through them to what is around.
_THROUGH = {"/NonStruct", "/Div"}
#: What an element stands in by its kind.
_INSIDE = {"/LI": "/L", "/LBody": "/LI"}


def complete(link_names: Mapping[str, str], _document: object, pdf: PDF) -> None:
    """Give links their names and header cells their scope, and leave one annotation to each link and item to each list.

    Parameters
    ----------
    link_names : mapping of str to str
        What a reader calls the target of a link, by its place.
    pdf : PDF
        As the renderer is about to write it; changed in place.
    """
    known = _by_reference(pdf)
    dropped = set()
    for item in known.values():
        if item.get("Subtype") == "/Link":
            target = item["Contents"].string
            item["Contents"].string = link_names.get(target) or target
        elif item.get("S") == "/TH" and "A" in item:
            row = known.get(item["P"], {})
            body = known.get(row.get("P"), {})
            item["A"]["Scope"] = "/Column" if body.get("S") == "/THead" else "/Row"
        elif item.get("S") in _INSIDE and _around(item, known) != _INSIDE[item["S"]]:
            # The one child of an item that is laid out as a box of its own: no item of a further list.
            item["S"] = "/NonStruct"
        elif "S" in item and item["S"] != "/Link":
            # A box inside a link has got an annotation of its own, which lies within that of the link.
            for reference, annotation in _annotations(item, known):
                if annotation["Subtype"] == "/Link":
                    item["K"].remove(reference)
                    dropped |= {reference, known[reference]["Obj"]}
    _drop(pdf, known, dropped)


def close(link_names: Mapping[str, str], document: object, pdf: PDF) -> None:
    """As :func:`complete`, with nothing to fill in: each field stays as it is printed, and its tag says what it is for."""
    complete(link_names, document, pdf)
    known = _by_reference(pdf)
    dropped = set()
    for item in known.values():
        if item.get("S") != "/Form":
            continue
        for reference, field in tuple(_annotations(item, known)):
            item["K"].remove(reference)
            dropped |= {reference, known[reference]["Obj"]}
            tick = field["FT"] == "/Btn"
            role = {"Role": "/cb", "checked": "/off"} if tick else {"Role": "/tv"}
            item["A"] = type(item)({"O": "/PrintField", **role, "Desc": field["TU"]})
    _drop(pdf, known, dropped)
    pdf.catalog.pop("AcroForm", None)


def _by_reference(pdf: PDF) -> dict[bytes, Dictionary]:
    """Dictionaries of a file by what refers to them; streams and what stands inside another have none."""
    return {
        item.reference: item for item in pdf.objects if hasattr(item, "items") and item.number is not None
    }


def _around(item: Dictionary, known: Mapping[bytes, Dictionary]) -> str:
    """What an element stands in, past those that say nothing."""
    outer: Any = known.get(item["P"], {})
    while outer.get("S") in _THROUGH:
        outer = known.get(outer["P"], {})
    return str(outer.get("S", ""))


def _annotations(item: Dictionary, known: Mapping[bytes, Dictionary]) -> Iterator[tuple[bytes, Dictionary]]:
    """References that an element holds to annotations, with these."""
    for kid in tuple(item["K"]):
        reference: Any = known.get(kid, {}) if isinstance(kid, bytes) else {}
        if reference.get("Type") == "/OBJR":
            yield kid, known[reference["Obj"]]


def _drop(pdf: PDF, known: Mapping[bytes, Dictionary], dropped: set[bytes]) -> None:
    """Take annotations out of pages and tree; what nothing refers to any more is emptied."""
    gone = {known[one]["StructParent"] for one in dropped if "StructParent" in known[one]}
    for item in known.values():
        if item.get("Type") == "/Page" and "Annots" in item:
            item["Annots"][:] = [one for one in item["Annots"] if one not in dropped]
            if not item["Annots"]:
                del item["Annots"]
        elif "Nums" in item:
            pairs = zip(item["Nums"][::2], item["Nums"][1::2], strict=True)
            item["Nums"][:] = [
                part for number, value in pairs if number not in gone for part in (number, value)
            ]
    # The writer numbers all objects, so an object that is left out would shift the others.
    for one in dropped:
        known[one].clear()
