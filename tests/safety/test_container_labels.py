"""Labels for containers: what they say, that all of it has room, by laying it out, and that one too small says so."""

import subprocess
from dataclasses import replace
from datetime import timedelta
from html import unescape
from io import BytesIO

import pypdf
import pytest
from django.urls import reverse
from PIL import Image

from shop import clock, paper
from shop.safety import queries, statements
from shop.safety.models import Hazard, Statement, Substance
from shop.safety.papers import labels
from shop.safety.papers.labels import BY_SLUG, SIZES, TYPES, ContainerLabel
from tests.safety.hazard_sheets import make_substance
from tests.safety.papers import boxes, codes, pictures, stands_within, words
from tests.safety.sheets import add_sheet

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

H = [("flammable-liquid", "2", "H225"), ("eyes", "2", "H319"), ("target-organ-once", "3", "H336")]
P = ("P210", "P233", "P240", "P241", "P242", "P243", "P280", "P303+P361+P353", "P403+P235", "P501")


def spirit(name="Quillspirit", classes=H, statements=P, **other):
    made = make_substance(name, **other)
    for hazard_class, category, code in classes:
        Hazard.objects.create(substance=made, hazard_class=hazard_class, category=category, h_code=code)
    for code in statements:
        Statement.objects.create(substance=made, code=code, fill="sand" if code == "P501" else "")
    return made


@pytest.fixture
def liquid(room_row):
    return spirit()


@pytest.fixture
def chip(room_row):
    return make_substance(
        "Cut chip",
        slug="cut-chip",
        form="solid",
        no_class_why="Who made the lacquer decides.",
        fire_use="Water in plenty.",
        fire_never="Carbon dioxide, foam.",
    )


def asked(*substances, **other):
    given = {"form": "short", "size": "bottle", "copies": "1", "paper": "A4", "start": "1", **other}
    return {"substance": [str(one.pk) for one in substances], **given}


def sheet(client, *substances, **other):
    answer = client.get(reverse("safety:labels-pdf"), asked(*substances, **other))
    assert answer.status_code == 200, answer.content[:3000]
    assert answer["Content-Type"] == "application/pdf"
    return answer.content


def refused(client, *substances, **other):
    answer = client.get(reverse("safety:labels-pdf"), asked(*substances, **other))
    assert answer.status_code == 422
    return " ".join(unescape(answer.content.decode()).split())


# What they say --------------------------------------------------------------------------------------------------------


def test_the_short_form_names_it_and_what_it_can_do(client_of, visitor, liquid):
    (text,) = words(sheet(client_of(visitor), liquid))
    for said in ("Quillspirit", "Danger", "Highly flammable liquid and vapour", "Causes serious eye irritation"):
        assert said in text
    assert "Keep away from heat" not in text
    assert "No supplier’s sheet is kept here for this." in text


def test_the_full_form_has_all_a_shipped_label_has(client_of, visitor, liquid):
    """29 CFR 1910.1200(f)(1): identifier, signal word, hazard and precautionary statements, pictograms, and name,
    address and telephone number of who is responsible for it. What is not known here is said to be so."""
    (text,) = words(sheet(client_of(visitor), liquid, form="full", size="drum"))
    for said in (
        "Quillspirit",
        "Danger",
        "Highly flammable liquid and vapour",
        "Keep away from heat",
        "not known here",
    ):
        assert said in text
    assert "telephone: not known here" in text


def test_what_was_filled_here_says_when_and_by_whom(client_of, visitor, liquid):
    made = sheet(client_of(visitor), liquid, filled_on="2025-03-02", filled_by="Juno Bell")
    assert "Filled 2 March 2025 by Juno Bell" in words(made)[0]
    assert "Filled" not in words(sheet(client_of(visitor), liquid, filled_by="Juno Bell"))[0]


def test_what_has_no_class_says_so_and_how_it_is_put_out(client_of, visitor, chip):
    (text,) = words(sheet(client_of(visitor), chip))
    assert "Who made the lacquer decides." in text
    assert "If it burns: Water in plenty. Never: Carbon dioxide, foam." in text
    assert "no hazard class is given here" in refused(client_of(visitor), chip, form="full", size="drum")


def test_a_substance_that_nobody_classed_says_so(client_of, visitor, room_row):
    (text,) = words(sheet(client_of(visitor), make_substance("Pump oil", slug="pump-oil")))
    assert "No hazard class is written down here." in text


# Room on the label ----------------------------------------------------------------------------------------------------


def label(substance, *, full):
    (found,) = queries.container_labels(
        Substance.objects.filter(pk=substance.pk),
        opens=lambda page: f"http://testserver{page}",
        full=full,
        filled="",
    )
    return found


def test_the_type_is_the_largest_that_has_room(liquid):
    found = [labels.fit([label(liquid, full=False)], size)[0].type_pt for size in SIZES]
    assert None not in found
    assert found == sorted(found)
    assert set(found) <= set(TYPES)
    assert min(TYPES) == 6.0


def test_a_label_too_small_for_its_text_is_refused_and_the_size_that_has_room_is_named(client_of, visitor, liquid):
    client = client_of(visitor)
    text = refused(client, liquid, form="full", size="vial")
    assert "Quillspirit: its text has no room on Vial, 64 × 36 mm, in type of 6 points." in text
    fits = labels.sizes_that_fit(label(liquid, full=True))
    assert fits
    assert f"It has on {fits[0].words}." in text
    assert "take the short form" in text
    sheet(client, liquid, form="full", size=fits[0].slug)


def test_what_has_room_nowhere_says_so(client_of, visitor, room_row):
    endless = spirit("Quillspirit", fire_use="")
    Statement.objects.filter(substance=endless).delete()
    known = [f"P{n}" for n in range(101, 505) if statements.is_known(f"P{n}")]
    Statement.objects.bulk_create(Statement(substance=endless, code=code) for code in known)
    text = refused(client_of(visitor), endless, form="full", size="drum")
    assert "It has on none of the sizes" in text


def test_where_statements_have_no_room_a_short_label_says_the_hazards_in_few_words(liquid):
    wordy = replace(label(liquid, full=False), name="Quillspirit, twice distilled and dried over salt")
    (one,) = labels.fit([wordy], BY_SLUG["vial"])
    assert one.step is not None
    assert one.label.hazards == ("Catches fire.", "Irritates or harms.")
    (other,) = labels.fit([label(liquid, full=False)], BY_SLUG["drum"])
    assert "Highly flammable liquid and vapour." in other.label.hazards


def test_fit_keeps_to_the_order_of_the_labels(liquid, chip):
    three = [label(chip, full=False), label(liquid, full=True), label(liquid, full=False)]
    found = labels.fit(three, BY_SLUG["vial"])
    assert [one.label.name for one in found] == ["Cut chip", "Quillspirit", "Quillspirit"]
    assert [one.step is None for one in found] == [False, True, False]


def test_what_has_no_room_is_never_set(liquid):
    fitted = labels.fit([label(liquid, full=True)], BY_SLUG["vial"])
    with pytest.raises(ValueError, match="room"):
        labels.sheets_pdf(fitted, size=BY_SLUG["vial"], page_size="A4", copies=1, start=1, title="x")


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.slug)
@pytest.mark.parametrize("page_size", ["A4", "Letter"])
@pytest.mark.parametrize("full", [False, True], ids=["short", "full"])
def test_every_word_of_a_label_lies_within_it(liquid, tmp_path, size, page_size, full):
    """By the boxes that Poppler finds on the paper, and nothing of the text is missing."""
    (fitted,) = labels.fit([label(liquid, full=full)], size)
    if fitted.step is None:
        assert full
        return
    made = labels.sheets_pdf([fitted], size=size, page_size=page_size, copies=1, start=1, title="x")
    stands_within(made, page_size, tmp_path, margin_mm=5)
    left, top = (paper_mm(page_size)[0] - labels.BLOCK_MM[0]) / 2, top_mm(page_size)
    (there,) = boxes(made, tmp_path)
    mm = 25.4 / 72
    for word, x1, y1, x2, y2 in there:
        assert x1 * mm >= left + 1, word
        assert x2 * mm <= left + size.width - 1, word
        assert y1 * mm >= top + 0.5, word
        assert y2 * mm <= top + size.height - 0.5, word
    flat = "".join(words(made)[0].split())
    for said in (*fitted.label.hazards, *fitted.label.precautions):
        assert "".join(said.split()) in flat


def paper_mm(page_size):
    return {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}[page_size]


def top_mm(page_size):
    return (paper_mm(page_size)[1] - labels.BLOCK_MM[1]) / 2


@pytest.mark.parametrize("full", [False, True], ids=["short", "full"])
@pytest.mark.parametrize("size", SIZES[1:], ids=lambda size: size.slug)
def test_a_pictogram_covers_its_share_of_the_label(room_row, tmp_path, size, full):
    """CLP, annex I, 1.2.1.3: at least one fifteenth of the label, and 1 cm². Measured on the picture: half the square
    of a diamond's diagonal is its area."""
    few = spirit(classes=[("gas-under-pressure", "Compressed gas", "H280")], statements=("P410+P403",), form="gas")
    fitted = labels.fit([label(few, full=full)], size)
    assert fitted[0].step is not None
    made = labels.sheets_pdf(fitted, size=size, page_size="A4", copies=1, start=1, title="x")
    (tmp_path / "sign.pdf").write_bytes(made)
    subprocess.run(["pdftoppm", "-r", "200", "-png", tmp_path / "sign.pdf", tmp_path / "sign"], check=True, timeout=60)
    picture = Image.open(next(tmp_path.glob("sign*.png"))).convert("RGB")
    red = picture.point(lambda value: value).convert("HSV")
    hue, saturation, _ = red.split()
    strong = saturation.point(lambda value: 255 if value > 150 else 0)
    x1, y1, x2, y2 = strong.getbbox()
    across, down = (x2 - x1) / 200 * 25.4, (y2 - y1) / 200 * 25.4
    assert across == pytest.approx(down, abs=0.4)
    area = across * down / 2
    assert area >= 100
    if full:
        assert area >= size.width * size.height / 15 * 0.99
    assert hue.getpixel(((x1 + x2) // 2, y1 + 8)) < 12 or hue.getpixel(((x1 + x2) // 2, y1 + 8)) > 240


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.slug)
def test_every_code_is_read_back_at_the_printers_own_resolution(client_of, visitor, liquid, tmp_path, settings, size):
    name = "the-cutting-room-of-the-old-tannery.example"
    settings.ALLOWED_HOSTS = [name]
    answer = client_of(visitor).get(
        reverse("safety:labels-pdf"), asked(liquid, size=size.slug, copies="30"), headers={"host": f"{name}:65535"}
    )
    found = [code for picture in pictures(answer.content, tmp_path) for code in codes(picture)]
    assert found == [f"http://{name}:65535{queries.page_of(liquid)}"] * 30


# Sheets ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("page_size", ["A4", "Letter"])
@pytest.mark.parametrize(("slug", "on_a_sheet"), [("vial", 21), ("bottle", 8), ("can", 4), ("drum", 2)])
def test_sheets_are_filled_along_the_rows_and_those_used_up_left_out(
    client_of, visitor, liquid, chip, tmp_path, page_size, slug, on_a_sheet
):
    assert BY_SLUG[slug].on_a_sheet == on_a_sheet
    made = sheet(client_of(visitor), chip, liquid, size=slug, paper=page_size, copies="5", start="2")
    assert len(pypdf.PdfReader(BytesIO(made)).pages) == -(-11 // on_a_sheet)
    whole = " ".join(words(made))
    assert whole.count("Who made the lacquer decides.") == 5
    assert sum(len(codes(picture)) for picture in pictures(made, tmp_path)) == 10
    stands_within(made, page_size, tmp_path, margin_mm=5)


def test_many_of_one_are_set_once_and_counted_right(client_of, visitor, liquid, monkeypatch):
    seen, real = [], paper.set_in_type

    def watched(html, css, **more):
        seen.append(html.count('class="block"'))
        return real(html, css, **more)

    monkeypatch.setattr(labels.paper, "set_in_type", watched)
    made = sheet(client_of(visitor), liquid, copies="60")
    assert len(pypdf.PdfReader(BytesIO(made)).pages) == 8
    assert seen[-1] == 2
    assert " ".join(words(made)).count("Quillspirit") == 60
    assert pypdf.PdfReader(BytesIO(made)).metadata.title == "Labels, Tindrum Street Cutting Room"


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"copies": "0"}, "below 1"),
        ({"start": "9"}, "A sheet has 8 labels of that size."),
        ({"size": "thimble"}, "not on the list"),
        ({"form": "long"}, "not on the list"),
        ({"paper": "A0"}, "not on the list"),
        ({"filled_on": "tomorrow"}, "not a day"),
    ],
)
def test_what_cannot_be_printed_is_refused(client_of, visitor, liquid, wrong, said):
    assert said in refused(client_of(visitor), liquid, **wrong)


def test_a_day_to_come_is_refused(client_of, visitor, liquid):
    day = clock.today() + timedelta(days=1)
    assert "in the future" in refused(client_of(visitor), liquid, filled_on=day.isoformat())


def test_more_than_a_press_makes_is_refused(client_of, visitor, room_row):
    many = [make_substance(f"S{n}", slug=f"s{n}") for n in range(4)]
    assert "at most 336" in refused(client_of(visitor), *many, copies="112")


def test_nothing_chosen_leads_to_choosing(client_of, visitor, liquid):
    client = client_of(visitor)
    assert client.get(reverse("safety:labels-pdf")).url == reverse("safety:labels")
    assert "Choose at least one" in refused(client)
    form = client.get(reverse("safety:labels"), {"substance": liquid.slug}).context["form"]
    assert form["substance"].initial == [liquid.pk]
    assert client.get(reverse("safety:labels"), {"substance": "nothing"}).status_code == 200


def test_an_empty_room_says_what_to_do_first(client_of, visitor, room_row):
    text = client_of(visitor).get(reverse("safety:labels")).content.decode()
    assert "No substance is kept yet" in text


def test_where_the_suppliers_sheet_says_otherwise_the_page_says_so(client_of, engineer, liquid, chip):
    client = client_of(engineer)
    assert "do not agree for" not in client.get(reverse("safety:labels")).content.decode()
    add_sheet(engineer, liquid, says_signal="Warning", says_pictograms=[], says_h=["H225"])
    text = client.get(reverse("safety:labels")).content.decode()
    assert f'do not agree for <a href="{liquid.get_absolute_url()}">Quillspirit</a>.' in text


def test_the_page_takes_few_queries(client_of, visitor, liquid, chip, django_assert_max_num_queries):
    client = client_of(visitor)
    with django_assert_max_num_queries(12):
        client.get(reverse("safety:labels"))


def test_without_pango_the_page_says_what_to_install(client_of, visitor, liquid, monkeypatch):
    def missing():
        raise paper.PaperMissing("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr(paper, "load", missing)
    assert client_of(visitor).get(reverse("safety:labels-pdf"), asked(liquid)).status_code == 503


def test_sizes_part_their_block_without_rest():
    for size in SIZES:
        assert (size.across * size.width, size.down * size.height) == labels.BLOCK_MM


def test_a_label_of_a_name_without_end_stays_within_or_is_refused(room_row, tmp_path):
    long = ContainerLabel(address="http://a/b/", name="W" * 80, hazards=("N" * 300,))
    for size in SIZES:
        (one,) = labels.fit([long], size)
        if one.step is not None:
            made = labels.sheets_pdf([one], size=size, page_size="A4", copies=1, start=1, title="x")
            stands_within(made, "A4", tmp_path, margin_mm=5)
            assert "".join(words(made)[0].split()).count("N") == 300
