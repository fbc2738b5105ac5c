"""The tag tree: reading order, page furniture, tables."""

from __future__ import annotations

import re
from io import BytesIO

import pikepdf
import pytest

from traveler.sheets.pdf.postprocess import walk


@pytest.fixture(scope="module")
def opened(winder_sheet):
    with pikepdf.open(BytesIO(winder_sheet.pdf)) as pdf:
        yield pdf


@pytest.fixture(scope="module")
def elements(opened):
    return list(walk(opened.Root.StructTreeRoot.K[0]))


def test_every_marked_content_belongs_to_an_element_of_the_tree(opened, elements):
    reached = {element.objgen for element in elements}
    tree = opened.Root.StructTreeRoot.ParentTree.Nums
    parents = {int(tree[place]): tree[place + 1] for place in range(0, len(tree), 2)}
    for page in opened.pages:
        content = b"\n".join(part.read_bytes() for part in page.Contents)
        numbers = [int(match) for match in re.findall(rb"/MCID (\d+)", content)]
        assert numbers
        row = parents[int(page.StructParents)]
        for number in numbers:
            assert row[number].objgen in reached


def test_heads_feet_and_marks_are_page_furniture(opened):
    for page in opened.pages:
        content = b"\n".join(part.read_bytes() for part in page.Contents)
        assert content.count(b"/Type /Pagination") > 8


def test_heading_cells_have_a_scope_and_a_place_in_the_directory(opened, elements):
    heads = [element for element in elements if element.S == "/TH"]
    assert {str(head.A.Scope) for head in heads} == {"/Column", "/Row"}
    names = opened.Root.StructTreeRoot.IDTree.Kids[0].Names
    assert {bytes(name) for name in list(names)[::2]} == {bytes(head.ID) for head in heads if "/ID" in head}
    keys = [bytes(name) for name in list(names)[::2]]
    assert keys == sorted(keys)


def test_every_box_and_picture_is_in_the_tree_with_words(elements, winder_reader):
    kinds = [str(element.S) for element in elements]
    assert kinds.count("/Form") == len(winder_reader.boxes())
    assert {"/H1", "/H2", "/Table", "/Figure"} <= set(kinds)
    for element in elements:
        if element.S == "/Figure":
            assert str(element.Alt)
