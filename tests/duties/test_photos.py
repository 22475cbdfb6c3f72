"""Photographs: made anew, small, without what the camera wrote into them; nothing else comes in."""

import io
import os
from datetime import timedelta

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageFile

from shop import clock
from shop.duties import photos
from shop.duties.rules import WantedStep
from tests.duties.makers import make_duty, photographed, picture


def sent(content, name="a.jpg"):
    return SimpleUploadedFile(name, content, "image/jpeg")


def kept_image(photo):
    return Image.open(io.BytesIO(photos.file_of(photo.name).read_bytes()))


def with_exif(**saving):
    exif = Image.Exif()
    exif[0x010F] = "Camera maker"
    exif[0x0112] = 6  # lies on its side
    exif.get_ifd(0x8825)[1] = "N"  # where it was taken
    return picture(400, 200, exif=exif, **saving)


def test_it_is_turned_upright_and_loses_what_the_camera_wrote():
    photo = photos.keep(sent(with_exif()))
    image = kept_image(photo)
    assert (image.format, image.size, (photo.width, photo.height)) == ("JPEG", (200, 400), (200, 400))
    assert dict(image.getexif()) == {}
    assert b"Camera maker" not in photos.file_of(photo.name).read_bytes()


def test_a_large_one_is_made_smaller():
    photo = photos.keep(sent(picture(5000, 2500)))
    assert kept_image(photo).size == (1600, 800)


@pytest.mark.parametrize("form", ["PNG", "WEBP", "JPEG"])
def test_what_phones_send_is_taken(form):
    assert kept_image(photos.keep(sent(picture(form=form)))).format == "JPEG"


@pytest.mark.parametrize("form", ["PNG", "WEBP", "JPEG"])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.95])
def test_a_file_that_ends_before_the_picture_does_is_none(monkeypatch, form, share):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)  # as it is once WeasyPrint was loaded
    noise = Image.effect_noise((800, 600), 80).convert("RGB")
    whole = io.BytesIO()
    noise.save(whole, form)
    photos.keep(sent(whole.getvalue()))
    with pytest.raises(ValueError, match=r"ends before the picture does|not a photograph that can be read") as no:
        photos.keep(sent(whole.getvalue()[: int(len(whole.getvalue()) * share)]))
    if form == "JPEG":
        assert "ends before the picture does" in str(no.value)


def test_what_lies_behind_glass_becomes_white():
    clear = io.BytesIO()
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(clear, "PNG")
    assert kept_image(photos.keep(sent(clear.getvalue()))).getpixel((5, 5)) == (255, 255, 255)


def test_the_name_says_nothing_and_the_folder_is_not_served():
    photo = photos.keep(sent(picture(), name="../../../etc/passwd"))
    file = photos.file_of(photo.name)
    assert file.is_relative_to(settings.MEDIA_ROOT)
    assert not file.is_relative_to(settings.STATIC_ROOT)
    assert "passwd" not in str(file)


def test_the_same_picture_twice_is_equal_so_that_a_repeated_press_is_one():
    first, second = (photos.keep(sent(picture())) for _ in range(2))
    assert first == second
    assert first.name != second.name


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"GIF89a" + b"0" * 100,
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        b"%PDF-1.7 nothing",
        picture()[:500],
        b"\xff\xd8\xff" + b"\x00" * 2000,
        picture(form="BMP"),
        picture(form="TIFF"),
    ],
)
def test_what_is_no_photograph_is_said_to_be_none(content):
    with pytest.raises(ValueError, match="not a photograph that can be read"):
        photos.keep(sent(content))


def test_a_file_or_picture_too_large_is_refused_before_its_pixels_are_read(monkeypatch):
    monkeypatch.setattr(photos, "MOST_PIXELS", 640 * 480 - 1)
    with pytest.raises(ValueError, match="million pixels"):
        photos.keep(sent(picture(640, 480)))
    monkeypatch.setattr(photos, "MOST_BYTES", 100)
    with pytest.raises(ValueError, match="larger than"):
        photos.keep(sent(picture(640, 480)))


def test_a_bomb_of_pixels_is_refused(monkeypatch):
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 1000)
    with pytest.raises(ValueError, match="million pixels"):
        photos.keep(sent(picture(640, 480)))


@pytest.mark.parametrize("name", ["", "..", "a" * 31, "A" * 32, "../" + "a" * 29, "a" * 32 + ".jpg"])
def test_only_our_names_name_a_file(name):
    with pytest.raises(ValueError, match="no such photograph"):
        photos.file_of(name)


def test_a_ticket_is_good_for_the_person_it_was_given():
    photo = photos.keep(sent(picture()))
    ticket = photos.ticket(photo, 7)
    back = photos.from_ticket(ticket, 7)
    assert (back, back.name, back.width) == (photo, photo.name, 640)
    assert photos.from_ticket(ticket, 8) is None
    assert photos.from_ticket(ticket + "x", 7) is None
    assert photos.from_ticket("nonsense", 7) is None
    photos.file_of(photo.name).unlink()
    assert photos.from_ticket(ticket, 7) is None


def test_what_no_entry_took_up_is_cleared_away_after_two_days(room_row, engineer):
    taken = photographed(engineer, make_duty(engineer, steps=(WantedStep("Look", wants_photo=True),)))
    old, fresh = photos.keep(sent(picture())), photos.keep(sent(picture()))
    past = (clock.now() - timedelta(days=3)).timestamp()
    for name in (taken.name, old.name):
        os.utime(photos.file_of(name), (past, past))
    photos.clear_unclaimed()
    assert [photos.file_of(name).exists() for name in (taken.name, old.name, fresh.name)] == [True, False, True]
