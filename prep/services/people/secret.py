"""Pass phrases and PINs: kept by Argon2id (RFC 9106), with the library's own parameters."""

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from argon2 import PasswordHasher


@cache
def hasher() -> "PasswordHasher":
    """Make the Argon2 hasher of pass phrases, with its library's own settings."""
    from argon2 import PasswordHasher

    return PasswordHasher()


@cache
def _nobody() -> str:
    return hasher().hash("nobody has this pass phrase")


def fits(kept: str | None, said: str) -> bool:
    """Tell whether a secret is right; as slow where nothing is kept, so that nobody learns who is on file."""
    from argon2.exceptions import Argon2Error, InvalidHashError

    try:
        hasher().verify(kept or _nobody(), said)
    except (Argon2Error, InvalidHashError):
        return False
    return kept is not None
