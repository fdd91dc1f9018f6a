"""What of PDF/A-3 and PDF/UA-1 can be checked without a validator, on the PDFs of all examples.

This is no validation: the standards are claimed. Clauses of ISO 19005-3:2012 and ISO 14289-1:2014
are named from memory.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

import pypdf
import pytest

from tests.unit.report import cases

HABITS = {name: preference for name, (_, preference) in cases.EXAMPLES.items()}
every_example = pytest.mark.parametrize("name", sorted(cases.EXAMPLES))
FORBIDDEN_ACTIONS = {"/JavaScript", "/Launch", "/Sound", "/Movie", "/ResetForm", "/ImportData"}
SHOWN = {b"Tj", b"TJ", b"'", b'"'}


def pdf(name: str) -> bytes:
    return cases.pdf_of(name, HABITS[name])


def objects(reader: pypdf.PdfReader) -> Iterator[Any]:
    """Every object of a file, once each."""
    for number in range(1, int(reader.trailer["/Size"])):
        try:
            found = reader.get_object(pypdf.generic.IndirectObject(number, 0, reader))
        except pypdf.errors.PdfReadError:
            continue
        if found is not None:
            yield found


def dictionaries(reader: pypdf.PdfReader) -> Iterator[Any]:
    for found in objects(reader):
        if isinstance(found, pypdf.generic.DictionaryObject):
            yield found


@every_example
def test_the_file_is_plain_and_has_an_id(name: str) -> None:
    """ISO 19005-3, 6.1.2 header, 6.1.3 trailer: an id and no encryption."""
    content = pdf(name)
    assert content.startswith(b"%PDF-1.")
    second = content.split(b"\n", 2)[1]
    assert second[:1] == b"%" and sum(c > 127 for c in second[1:5]) == 4
    reader = cases.read_pdf(content)
    assert len(reader.trailer["/ID"]) == 2
    assert "/Encrypt" not in reader.trailer


@every_example
def test_every_typeface_is_embedded_and_can_be_read_back(name: str) -> None:
    """ISO 19005-3, 6.2.11.4 embedding and 6.2.11.7 Unicode; ISO 14289-1, 7.21."""
    fonts = [d for d in dictionaries(cases.read_pdf(pdf(name))) if d.get("/Type") == "/Font"]
    whole = [f for f in fonts if f["/Subtype"] == "/Type0"]
    assert whole
    for font in whole:
        assert "/ToUnicode" in font
    for font in fonts:
        if font["/Subtype"] in ("/Type0", "/Type3"):
            continue
        described = font["/FontDescriptor"]
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(described), font["/BaseFont"]


@every_example
def test_colour_is_defined_by_an_embedded_profile(name: str) -> None:
    """ISO 19005-3, 6.2.3 output intent, if colours of a device are used (6.2.4.3)."""
    root = cases.read_pdf(pdf(name)).trailer["/Root"]
    intents = [i.get_object() for i in root["/OutputIntents"]]
    assert any(i["/S"] == "/GTS_PDFA1" and "/DestOutputProfile" in i for i in intents)


@every_example
def test_nothing_in_it_acts_or_lies_outside(name: str) -> None:
    """ISO 19005-3, 6.5.1 actions, 6.2.9 external streams, 6.1.7.2 no LZW."""
    for found in dictionaries(cases.read_pdf(pdf(name))):
        assert found.get("/S") not in FORBIDDEN_ACTIONS
        assert not {"/JS", "/AA"} & set(found)
        if isinstance(found, pypdf.generic.StreamObject):
            assert "/F" not in found
            assert "LZW" not in str(found.get("/Filter", ""))
            assert found.get("/Subtype") != "/PS"


@every_example
def test_the_attached_file_says_what_it_is(name: str) -> None:
    """ISO 19005-3, 6.8: relationship, media type, and an association with the document."""
    root = cases.read_pdf(pdf(name)).trailer["/Root"]
    (associated,) = [a.get_object() for a in root["/AF"]]
    assert associated["/AFRelationship"] == "/Source"
    assert associated["/F"] and associated["/UF"] and associated["/Desc"]
    assert associated["/EF"]["/F"].get_object()["/Subtype"] == "/application/json"


@every_example
def test_all_that_is_shown_is_tagged_or_marked_as_no_content(name: str) -> None:
    """ISO 14289-1, 7.1: real content is tagged, the rest is an artifact."""
    reader = cases.read_pdf(pdf(name))
    count = 0
    for page in reader.pages:
        assert page["/Tabs"] == "/S"
        depth: list[str] = []
        for operands, operator in pypdf.generic.ContentStream(page["/Contents"], reader).operations:
            if operator in (b"BDC", b"BMC"):
                depth.append(str(operands[0]))
            elif operator == b"EMC":
                depth.pop()
            elif operator in SHOWN or operator == b"Do":
                count += 1
                assert depth, f"page {page.page_number}: {operator!r} outside of all tags"
        assert not depth
    assert count > 1000


def kinds_below(element: Any, found: list[tuple[str, Any]]) -> list[tuple[str, Any]]:
    one = element.get_object()
    for kid in one if isinstance(one, list) else [one]:
        inner = kid.get_object()
        if not isinstance(inner, dict):
            continue
        if "/S" in inner:
            found.append((str(inner["/S"]), inner))
        if "/K" in inner:
            kinds_below(inner["/K"], found)
    return found


@every_example
def test_headings_skip_no_level_and_heads_of_tables_say_what_they_head(name: str) -> None:
    """ISO 14289-1, 7.4.2 order of headings, 7.5 scope of header cells."""
    root = cases.read_pdf(pdf(name)).trailer["/Root"]["/StructTreeRoot"]
    found = kinds_below(root["/K"], [])
    levels = [int(kind[2:]) for kind, _ in found if kind[1:2] == "H" and kind[2:].isdigit()]
    assert levels and levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    heads = [one for kind, one in found if kind == "/TH"]
    assert heads
    for head in heads:
        attributes = head["/A"].get_object()
        listed = attributes if isinstance(attributes, list) else [attributes]
        assert any(a.get_object().get("/Scope") in ("/Column", "/Row", "/Both") for a in listed)
