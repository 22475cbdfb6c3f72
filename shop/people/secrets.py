"""Secrets of the door: made by the system's random source, kept as digests, or sealed with the program's key."""

import base64
import hashlib
import secrets

from cryptography.fernet import Fernet, InvalidToken
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

from shop.refusal import Refused


def new_secret() -> str:
    """256 bits for a link or a cookie, as 43 characters that go into an address."""
    return secrets.token_urlsafe(32)


def digest_of(secret: str) -> str:
    """What is kept of such a secret: SHA-256, in hexadecimal. It is too long to be guessed, so it needs no salt."""
    return hashlib.sha256(secret.encode()).hexdigest()


def _box() -> Fernet:
    """The box for what must be read again, by a key made from the program's own, which is not in the database."""
    made = HKDF(algorithm=SHA256(), length=32, salt=None, info=b"latheside second factor").derive(
        settings.SECRET_KEY.encode()
    )
    return Fernet(base64.urlsafe_b64encode(made))


def sealed(text: str) -> str:
    """`text` encrypted and signed (AES-128-CBC and HMAC-SHA-256: Fernet), so that a copy of the database does not
    hold it."""
    return _box().encrypt(text.encode()).decode()


def unsealed(box: str) -> str:
    """Undoes `sealed`. Refused where the program's key is another one by now."""
    try:
        return _box().decrypt(box.encode()).decode()
    except InvalidToken as wrong:
        raise Refused(
            "The second factor cannot be read any more, for the program's key has changed. Use a recovery code, or "
            "have an owner take it off."
        ) from wrong
