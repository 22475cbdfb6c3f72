"""What is far too large is refused before it is read: in little memory, and with nothing kept."""

import tracemalloc
from uuid import uuid4

import pytest
from django.core.files import File

from shop.refusal import Refused
from shop.stock import actions
from shop.stock.models import Intake
from shop.stock.sheets import files
from tests.stock.sheets.makers import SUPPLIERS, as_csv

pytestmark = pytest.mark.django_db


def test_a_file_of_100_mb_is_refused_without_being_held_or_kept(engineer, tmp_path):
    large = tmp_path / "large.csv"
    with large.open("wb") as file:
        file.write(as_csv("Supplier", "Quill"))
        file.truncate(100 * 1024 * 1024)
    before = list(files.folder().glob("*")) if files.folder().exists() else []
    with large.open("rb") as file:
        tracemalloc.start()
        try:
            sent = files.SentFile.of(File(file, name="large.csv"))
            with pytest.raises(Refused, match="larger than 15 MB"):
                actions.send_sheet(by=engineer, once=uuid4(), kind=SUPPLIERS, file=sent)
            peak = tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
    assert peak < 2 * 1024 * 1024
    assert Intake.objects.count() == 0
    assert (list(files.folder().glob("*")) if files.folder().exists() else []) == before
