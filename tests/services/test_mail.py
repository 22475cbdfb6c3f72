"""EMAIL_URL names the server that mail goes to."""

import pytest

pytestmark = pytest.mark.services


def test_mail_reaches_the_server_that_email_url_names(letterbox, run_python, tmp_path):
    run_python(
        ["manage.py", "sendtestemail", "pellow@shop.example"],
        LATHESIDE_DATA=str(tmp_path),
        EMAIL_URL=f"smtp://127.0.0.1:{letterbox.port}",
        MAIL_FROM="latheside@shop.example",
    )
    ((sender, receivers, letter),) = letterbox.received
    assert (sender, receivers) == ("latheside@shop.example", ["pellow@shop.example"])
    assert letter["Subject"].startswith("Test email")


def test_without_it_mail_is_printed(run_python, tmp_path):
    said = run_python(["manage.py", "sendtestemail", "pellow@shop.example"], LATHESIDE_DATA=str(tmp_path))
    assert "To: pellow@shop.example" in said
