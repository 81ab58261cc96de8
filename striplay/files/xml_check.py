"""Check XML before it is read: no document type, so no entities; no depth that overwhelms."""

import re
from pathlib import Path
from xml.parsers import expat

from striplay.crs import NAMES_FILES, names_files
from striplay.files.regular import check_text
from striplay.limits import MAX_NESTING

READ_ENCODINGS = re.compile(r"utf-?8|(us-)?ascii|iso-8859-\d+|windows-125\d", re.IGNORECASE)
"""Encodings in which a letter of ASCII is one byte, and that byte no other letter."""


def without_links(path: Path) -> bytes:
    """Give the text of a GML or KML file with the names of its schemas put out of use.

    Raises:
        ValueError: it is no XML, or XML that may ask for more than itself; the message says which.
    """
    content = path.read_bytes()
    if b"\0" in content[:200]:
        raise ValueError("is not in UTF-8; save it as UTF-8")
    check_text(content)
    _check(content)
    # an attribute's name can be written in one way only, so none is missed
    return content.replace(b"schemaLocation", b"schemaNotTaken")


def _check(content: bytes) -> None:
    depth = 0

    def begin(_: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if names_files(attributes.get("srsName", "")):
            raise ValueError(NAMES_FILES)
        if depth > MAX_NESTING:
            raise ValueError(f"has over {MAX_NESTING} elements within each other")

    def end(_: object) -> None:
        nonlocal depth
        depth -= 1

    def refuse(*_: object) -> None:
        raise ValueError("has a document type, which is not read; export it anew without")

    def declared(_: str, encoding: str | None, __: int) -> None:
        if encoding is not None and not READ_ENCODINGS.fullmatch(encoding):
            raise ValueError("is not in UTF-8; save it as UTF-8")

    parser = expat.ParserCreate()
    parser.XmlDeclHandler = declared
    parser.StartElementHandler, parser.EndElementHandler = begin, end
    parser.StartDoctypeDeclHandler = refuse
    try:
        parser.Parse(content, True)  # noqa: FBT003 - expat takes it in no other way
    except expat.ExpatError as error:
        raise ValueError(f"can't be read: it is no XML from line {error.lineno} on") from error
