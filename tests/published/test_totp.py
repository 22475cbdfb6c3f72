"""The second factor's codes against the standards they are made by.

RFC 6238 (TOTP: Time-Based One-Time Password Algorithm, May 2011), appendix B, the rows of SHA-1: codes of eight digits.
RFC 4226 (HOTP: An HMAC-Based One-Time Password Algorithm, December 2005), appendix D: codes of six digits by counter.
"""

import base64
from datetime import UTC, datetime
from urllib.parse import parse_qs, urlsplit

import pytest

from shop import clock
from shop.people import second_factor

#: "12345678901234567890" in ASCII, the secret of both appendices.
SECRET = base64.b32encode(b"12345678901234567890").decode()

#: Seconds since 1970, the step that the table gives in hexadecimal, and the code.
APPENDIX_B = [
    (59, 0x1, "94287082"),
    (1111111109, 0x23523EC, "07081804"),
    (1111111111, 0x23523ED, "14050471"),
    (1234567890, 0x273EF07, "89005924"),
    (2000000000, 0x3F940AA, "69279037"),
    (20000000000, 0x27BC86AA, "65353130"),
]
APPENDIX_D = ["755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"]


@pytest.mark.parametrize(("seconds", "step", "code"), APPENDIX_B)
def test_codes_of_eight_digits(seconds, step, code):
    with clock.moved(datetime.fromtimestamp(seconds, UTC)):
        assert second_factor.step_now() == step
        assert second_factor.code_at(SECRET, step, digits=8) == code


@pytest.mark.parametrize(("seconds", "step", "code"), APPENDIX_B)
def test_our_codes_are_their_last_six(seconds, step, code):
    """Both are the same number, cut off at so many digits (RFC 4226, 5.3)."""
    assert second_factor.code_at(SECRET, step) == code[-6:]
    with clock.moved(datetime.fromtimestamp(seconds, UTC)):
        assert second_factor.step_of(SECRET, code[-6:]) == step


@pytest.mark.parametrize(("counter", "code"), list(enumerate(APPENDIX_D)))
def test_codes_by_counter(counter, code):
    assert second_factor.code_at(SECRET, counter) == code


def test_a_secret_is_as_long_as_the_standard_asks_for():
    """RFC 4226, 4, R6: at least 128 bits, 160 recommended."""
    assert len(base64.b32decode(second_factor.new_secret())) * 8 == 160


def test_a_code_of_the_step_before_and_the_step_after_counts_and_none_further():
    """RFC 6238, 5.2: at most one step of delay on the way is recommended; we take one ahead too, for fast clocks."""
    with clock.moved(datetime.fromtimestamp(1234567890, UTC)):
        taken = [
            offset
            for offset in range(-5, 6)
            if second_factor.step_of(SECRET, second_factor.code_at(SECRET, 0x273EF07 + offset)) is not None
        ]
    assert taken == [-1, 0, 1]


def test_the_address_that_apps_read():
    """The form that apps agree on: otpauth://totp/issuer:account with secret and issuer; what is left out is the usual
    (SHA-1, six digits, 30 seconds)."""
    address = urlsplit(second_factor.address_for_app(SECRET, sign_in="juno", room="Nettlewick Cutting Room"))
    assert (address.scheme, address.netloc, address.path) == ("otpauth", "totp", "/Nettlewick%20Cutting%20Room:juno")
    told = parse_qs(address.query)
    assert told["secret"] == [SECRET]
    assert told["issuer"] == ["Nettlewick Cutting Room"]
    assert told.keys() <= {"secret", "issuer", "algorithm", "digits", "period"}
