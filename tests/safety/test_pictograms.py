"""Pictograms: drawn after the GHS description, and never without words."""

from xml.etree import ElementTree

import pytest
from django.template import Context, Template

from shop.calc.ghs import PICTOGRAMS
from shop.paper import STATIC

SVG = "{http://www.w3.org/2000/svg}"


def drawn(template):
    return Template("{% load safety %}" + template).render(Context())


@pytest.mark.parametrize("code", PICTOGRAMS)
def test_each_is_a_square_on_its_point_with_a_red_frame_on_white(code):
    """UN GHS 1.4.10.4.2.2: a black symbol on a white background with a red frame; a square set at a point."""
    root = ElementTree.parse(STATIC / "shop" / "ghs" / f"{code}.svg").getroot()
    frame = root.find(f"{SVG}path")
    assert frame.get("d") == "M100 10L190 100L100 190L10 100Z"
    assert (frame.get("fill"), frame.get("stroke")) == ("#fff", "#d3001b")
    colours = {element.get("fill") for element in root.iter()} - {None, "none"}
    assert colours <= {"#000", "#fff"}
    assert root.find(f"{SVG}g").get("fill") == "#000"


def test_there_is_no_drawing_without_a_pictogram():
    assert {file.stem for file in (STATIC / "shop" / "ghs").iterdir()} == set(PICTOGRAMS)


@pytest.mark.parametrize("code", PICTOGRAMS)
def test_each_stands_with_its_words(code):
    html = drawn(f'{{% pictogram "{code}" %}}')
    assert f'alt="{PICTOGRAMS[code].symbol}"' in html
    assert f">{PICTOGRAMS[code].means}</span>" in html
    assert f"shop/ghs/{code}" in html


def test_on_paper_it_comes_from_where_papers_may_fetch():
    assert 'src="static:shop/ghs/GHS02.svg"' in drawn('{% pictogram "GHS02" paper=True %}')


def test_an_unknown_one_is_not_left_out_in_silence():
    with pytest.raises(KeyError):
        drawn('{% pictogram "GHS10" %}')
