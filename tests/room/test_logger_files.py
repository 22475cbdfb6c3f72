"""Files of loggers: their columns chosen, looked at first, each reading kept once, the bad rows refused by name."""

from datetime import UTC, datetime
from io import BytesIO
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from shop.refusal import Refused
from shop.room.logger_files import Chosen, Skipped, Table, moment, order_shown, read_table, readings_of
from shop.room.models import Reading, ReadingKind
from tests.room.instruments import add_instrument

FILE = (
    "Logger 7;Back room\r\n"
    "Serial;0042\r\n"
    "Date;Time;Temp \u00b0C;RH %\r\n"
    "30.03.2025;00:50;21,5;45\r\n"
    "30.03.2025;01:00;21,6;46\r\n"
    "30.03.2025;03:10;21,7;140\r\n"
    "30.03.2025;03:20;warm;47\r\n"
    "30.03.2025;03:30;;48\r\n"
).encode("cp1252")
COLUMNS = {
    "at": "0", "clock": "1", "order": "day", "zone": "Europe/Lisbon",
    "room_c": "2", "room_c_unit": "degC", "room_rh": "3", "room_rh_unit": "percent",
}  # fmt: skip


@pytest.fixture(autouse=True)
def folder_of_its_own(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def logger(owner):
    return add_instrument(owner, "Logger", every_min=None)


@pytest.fixture
def address(logger):
    return reverse("room:take-in-file", args=[logger.pk])


def sent(client, address, raw=FILE, name="log.csv"):
    file = BytesIO(raw)
    file.name = name
    return client.post(address, {"file": file})


def test_a_file_is_looked_at_before_it_is_taken_in_and_taken_in_once(address, assistant, client_of, at):
    client = client_of(assistant)
    with at("2025-03-31 09:00"):
        page = sent(client, address)
        assert page.status_code == 200
        assert page.context["table"].headings == ["Date", "Time", "Temp \u00b0C", "RH %"]
        assert page.context["form"].fields["order"].initial == "day"
        typed = {**COLUMNS, "zone": "UTC", "ticket": page.context["form"].initial["ticket"], "once": str(uuid4())}
        asked = client.post(address, typed)
        assert asked.status_code == 422
        (doubt,) = asked.context["form"].doubts
        assert doubt.sentence == (
            "7 readings would be kept, 2 would be refused. Row 6: 140\u00a0% cannot be: it lies between 0\u00a0% and "
            "100\u00a0%. Row 7: \u201cwarm\u201d is no number."
        )
        assert not Reading.objects.exists()
        done = client.post(address, {**typed, "sure": doubt.key})
        assert done.status_code == 302
        assert Reading.objects.count() == 7
        warm = Reading.objects.filter(kind="room_c").earliest("at")
        assert (warm.value, warm.at) == (21.5, datetime(2025, 3, 30, 0, 50, tzinfo=UTC))
        assert warm.by == assistant
        assert warm.taken_by == "Logger"
        again = client.post(address, {**typed, "once": str(uuid4())})
        assert "None of it can be kept" in again.content.decode()
        assert Reading.objects.count() == 7


def test_a_visitor_and_a_stranger_bring_none(address, visitor, client_of, client):
    assert client_of(visitor).get(address).status_code == 403
    assert client.get(address).status_code == 302


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"PK\x03\x04abc", "That is a workbook"),
        (b"\x00\x01\x02", "no text file"),
        (b"just words\n", "There is no table in it"),
        (b"a,b\n", "headings and no rows"),
    ],
)
def test_what_is_no_table_is_refused_by_name(address, owner, client_of, raw, said):
    page = sent(client_of(owner), address, raw)
    assert page.status_code == 422
    assert said in page.content.decode()


@pytest.mark.parametrize("ticket", ["", "forged", "../../etc/passwd"])
def test_a_ticket_that_is_none_of_ours_opens_nothing(address, owner, client_of, ticket):
    page = client_of(owner).post(address, {**COLUMNS, "ticket": ticket, "once": str(uuid4())})
    assert page.status_code == 422
    assert "The file did not come along" in page.content.decode()


def test_too_many_rows_are_refused_as_a_whole(tmp_path):
    file = tmp_path / "long.csv"
    file.write_text("at,value\n" + "2025-03-30 08:00,21\n" * 50_001)
    with pytest.raises(Refused, match="are taken at once"):
        read_table(file)


@pytest.mark.parametrize(
    ("text", "order", "is_at"),
    [
        ("2025-03-29 08:15:30", "year", "2025-03-29T08:15:30+00:00"),
        ("2025-03-29T08:15:30+02:00", "year", "2025-03-29T06:15:30+00:00"),
        ("29/03/2025 08:15", "day", "2025-03-29T08:15:00+00:00"),
        ("03/29/25 08:15:00 PM", "month", "2025-03-29T20:15:00+00:00"),
        ("03/29/2025 12:05 am", "month", "2025-03-29T00:05:00+00:00"),
        ("2025-07-01 08:15", "year", "2025-07-01T07:15:00+00:00"),
        ("29/03/2025 08:15", "year", None),
        ("29/03/2025 08:15", "month", None),
        ("2025-03-29 25:15", "year", None),
        ("yesterday", "day", None),
        ("13/13/2025 13:00 PM", "day", None),
    ],
)
def test_moments_as_loggers_write_them(text, order, is_at):
    found = moment(text, order, ZoneInfo("Europe/Lisbon"))
    assert (found.isoformat() if found else None) == is_at


def test_an_hour_that_there_was_not_is_refused_row_by_row():
    zone = ZoneInfo("Europe/London")
    for text in ("2026-03-29 01:00", "2026-03-29 01:30"):
        with pytest.raises(Skipped):
            moment(text, "year", zone)
    assert moment("2026-03-29 00:59", "year", zone).isoformat() == "2026-03-29T00:59:00+00:00"
    assert moment("2026-03-29 02:00", "year", zone).isoformat() == "2026-03-29T01:00:00+00:00"
    table = Table(["at", "warm", "damp"], [(2, ["2026-03-29 01:30", "21", "40"])], comma=False)
    kinds = {ReadingKind.ROOM_C: (1, "degC"), ReadingKind.ROOM_RH: (2, "percent")}
    told, _ = readings_of(table, Chosen(at=0, clock=None, order="year", zone="Europe/London", kinds=kinds))
    assert {one.reason for one in told} == {
        "“2026-03-29 01:30” was never shown by a clock in Europe/London: they went forward then."
    }


def test_one_column_is_one_thing(address, owner, client_of, at):
    with at("2025-03-31 09:00"):
        client = client_of(owner)
        page = sent(client, address)
        typed = {**COLUMNS, "zone": "UTC", "ticket": page.context["form"].initial["ticket"], "once": str(uuid4())}
        twice = client.post(address, {**typed, "room_rh": typed["room_c"]})
        assert twice.status_code == 422
        assert "That column holds room temperature already." in twice.content.decode()
        moment_too = client.post(address, {**typed, "room_c": typed["at"]})
        assert "That column holds the moment already." in moment_too.content.decode()
    assert not Reading.objects.exists()


def test_a_row_is_told_once_and_what_is_not_told_is_counted(address, owner, client_of, at):
    rows = "".join(f"2025-03-2{n} 08:00,21,45\n" if n == 1 else f"no day {n},21,45\n" for n in range(1, 9))
    with at("2025-03-31 09:00"):
        client = client_of(owner)
        page = sent(client, address, b"at,warm,damp\n" + rows.encode())
        typed = {**COLUMNS, "clock": "", "order": "year", "room_rh": "", "zone": "UTC", "once": str(uuid4())}
        typed |= {"ticket": page.context["form"].initial["ticket"], "room_c": "1"}
        (one,) = client.post(address, typed).context["form"].doubts
        (both,) = client.post(address, {**typed, "room_rh": "2"}).context["form"].doubts
    assert one.sentence.startswith("1 reading would be kept, 7 would be refused. Row 3: ")
    assert both.sentence.startswith("2 readings would be kept, 14 would be refused. Row 3: ")
    for doubt in (one, both):
        assert doubt.sentence.count("Row ") == 5
        assert doubt.sentence.endswith("And 2 more.")


def test_the_hour_that_comes_twice_goes_on_from_the_row_before():
    zone, before, found = ZoneInfo("Europe/Lisbon"), None, []
    for text in ("2025-10-26 01:30", "2025-10-26 01:50", "2025-10-26 01:10", "2025-10-26 01:30", "2025-10-26 02:10"):
        before = moment(text, "year", zone, before)
        found.append(before.strftime("%H:%M"))
    assert found == ["00:30", "00:50", "01:10", "01:30", "02:10"]


def test_which_of_day_and_month_comes_first_is_seen_in_the_rows(tmp_path):
    for rows, order in (
        (["2025-03-01 08:00"], "year"),
        (["01/02/2025 08:00", "13/02/2025 08:00"], "day"),
        (["02/01/2025 08:00", "02/13/2025 08:00"], "month"),
        (["01/02/2025 08:00", "02/02/2025 08:00"], "day"),
        (["01/02/2025 08:00"], ""),
    ):
        file = tmp_path / "log.csv"
        file.write_text("at,value\n" + "".join(f"{row},21\n" for row in rows))
        assert order_shown(read_table(file), 0) == order
