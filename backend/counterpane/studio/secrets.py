"""Tokens, passphrases and PINs: made, hashed and checked.

Tokens are 256 random bits, so a plain SHA-256 of them is enough to keep; passphrases and PINs are guessable and
are kept as Argon2id hashes (RFC 9106), with the parameters that argon2-cffi recommends.
"""

from __future__ import annotations

import secrets
from hashlib import sha256

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from counterpane.errors import CounterpaneError

SHORTEST_PASSPHRASE = 10
_hasher = PasswordHasher()


def new_token() -> str:
    """Return 256 fresh random bits as text for an address or a cookie."""
    return secrets.token_urlsafe(32)


def new_code() -> str:
    """Return six random digits."""
    return f"{secrets.randbelow(1_000_000):06d}"


def digest(token: str) -> str:
    """Return what is kept of a token."""
    return sha256(token.encode()).hexdigest()


def csrf_of(token: str) -> str:
    """Return the write token that belongs to a session's token; the one does not lead back to the other."""
    return sha256(b"csrf " + token.encode()).hexdigest()


def hash_passphrase(passphrase: str) -> str:
    """Return the hash of a passphrase; raises `CounterpaneError` when it is too short to protect anybody."""
    if len(passphrase) < SHORTEST_PASSPHRASE:
        raise CounterpaneError(
            f"The passphrase is too short: take at least {SHORTEST_PASSPHRASE} characters, several words are best."
        )
    return _hasher.hash(passphrase)


def hash_pin(pin: str) -> str:
    """Return the hash of a PIN."""
    return _hasher.hash(pin)


def matches(secret_hash: str, secret: str) -> bool:
    """Say whether a passphrase or PIN is the one that was hashed."""
    try:
        return _hasher.verify(secret_hash, secret)
    except (VerificationError, InvalidHashError):
        return False
