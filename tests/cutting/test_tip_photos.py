"""Photographs of tips: with the life they show, made anew, and nothing that is none."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, transaction

from shop import clock
from shop.cutting import actions
from shop.cutting.models import TipPhoto
from shop.duties import photos
from shop.refusal import Doubtful, NotAllowed, Refused
from tests.cutting.makers import address, cut, make_stylus, once, photographed, text
from tests.duties.makers import picture
from tests.makers import at, moment

pytestmark = pytest.mark.django_db


def sent(content, name="tip.jpg"):
    return SimpleUploadedFile(name, content, "image/jpeg")


def test_it_is_kept_with_the_life_and_its_hours(bench, assistant):
    cut(bench, at=moment("2025-03-03 09:00"))
    photo = photographed(assistant, bench.stylus)
    assert (photo.life.number, photo.cut_s, photo.by, photo.at) == (1, 1200, assistant, clock.now())
    earlier = actions.add_tip_photo(
        by=assistant,
        once=once(),
        stylus=bench.stylus,
        photo=photos.keep(sent(picture())),
        at=moment("2025-03-03 08:10"),
    )
    assert earlier.cut_s == 0


def test_one_of_a_fresh_edge_belongs_to_no_life_yet(bench):
    spare = make_stylus(bench.engineer, bench.kind, "R-2")
    assert photographed(bench.engineer, spare).life is None
    actions.send_stylus_away(by=bench.engineer, once=once(), stylus=bench.stylus, sent_to="Loft", reason="worn")
    assert photographed(bench.engineer, bench.stylus).life.number == 1, "how it went"
    with at("2025-03-20 09:00"):
        actions.take_stylus_back(by=bench.engineer, once=once(), stylus=bench.stylus, came_back="fresh")
        assert photographed(bench.engineer, bench.stylus).life is None


def test_it_is_never_changed_and_not_cleared_away(bench):
    photo = photographed(bench.engineer, bench.stylus)
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        TipPhoto.objects.update(shows="something else")
    with at("2026-03-03 09:00"):
        photos.clear_unclaimed()
    assert photos.file_of(photo.name).is_file()


def test_none_at_all_is_refused_and_who_only_looks_keeps_none(bench, visitor):
    with pytest.raises(Refused) as no:
        actions.add_tip_photo(by=bench.engineer, once=once(), stylus=bench.stylus, photo=None)
    assert no.value.field == "photo"
    with pytest.raises(NotAllowed):
        photographed(visitor, bench.stylus)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"%PDF-1.7 nothing", "not a photograph that can be read"),
        (b"", "That file is empty"),
        (b"\xff\xd8\xff" + b"\x00" * 40_000_000, "larger than 15 MB"),
    ],
)
def test_a_file_that_is_no_photograph_or_40_mb_is_refused(bench, client_of, assistant, content, words):
    where = address("add-tip-photo", bench.stylus.pk)
    answer = client_of(assistant).post(where, {"once": once(), "photo": sent(content)})
    assert answer.status_code == 422
    assert words in text(answer)
    assert not TipPhoto.objects.exists()


def test_one_that_came_with_a_refused_press_is_kept_for_the_next(bench, client_of, assistant):
    client, where = client_of(assistant), address("add-tip-photo", bench.stylus.pk)
    refused = client.post(where, {"once": once(), "photo": sent(picture()), "at": "2031-05-05T10:00"})
    assert refused.status_code == 422
    assert "A photograph is kept already" in text(refused)
    ticket = refused.context["form"].ticket
    assert client.post(where, {"once": once(), "photo_kept": ticket}).status_code == 302
    assert TipPhoto.objects.get().at == clock.now()


def test_by_the_page_twice_is_one_and_it_is_shown(bench, client_of, assistant, visitor, client):
    where, token = address("add-tip-photo", bench.stylus.pk), str(once())
    for _ in range(2):
        facts = {"once": token, "photo": sent(picture()), "shows": "right flank"}
        assert client_of(assistant).post(where, facts).status_code == 302
    photo = TipPhoto.objects.get()
    page = text(client_of(visitor).get(bench.stylus.get_absolute_url()))
    assert f'src="{photo.get_absolute_url()}"' in page
    assert "right flank" in page
    shown = client_of(visitor).get(photo.get_absolute_url())
    assert (shown["Content-Type"], shown.content[:3]) == ("image/jpeg", b"\xff\xd8\xff")
    assert client.get(photo.get_absolute_url()).status_code == 302
    assert client_of(visitor).get(address("tip-photo", "f" * 32)).status_code == 404


def test_one_from_before_the_stylus_came_in_is_asked_about(bench):
    kept = photos.keep(sent(picture()))
    facts = {"by": bench.engineer, "stylus": bench.stylus, "photo": kept, "at": moment("2024-03-03 09:00")}
    with pytest.raises(Doubtful, match="R-1 only came in on 3 March 2025") as asked:
        actions.add_tip_photo(**facts, once=once())
    [doubt] = asked.value.doubts
    assert doubt.field == "at"
    assert actions.add_tip_photo(**facts, once=once(), sure=[doubt.key]).life is None
