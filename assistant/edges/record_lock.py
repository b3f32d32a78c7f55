"""How is the record store locked? Every text in it is sealed under a key made of a passphrase.

AES-256-GCM of the maintained library `cryptography` (extra `private`), the key by scrypt of the
standard library. Without the passphrase nothing that is sealed can be read: not by us, either.
"""

from __future__ import annotations

import hashlib
import hmac
import os
from base64 import b64decode, b64encode
from typing import Any

from assistant.errors import ConfigError

PASSPHRASE = "SWATCHWORD_PASSPHRASE"  # the environment variable that is taken instead of asking
SHORTEST = 8  # characters; a sentence is better
# scrypt: 64 MiB and about 0.2 s for each guess (n = 2**16, r = 8, RFC 7914 section 2)
COST, BLOCK = 2**16, 8
_NONCE = 12
_PROOF = "swatchword"
_ABOUT = b"swatchword record"  # bound to what is sealed: nothing else's sealing passes for ours


class Key:
    """Seals and opens texts; a wrong passphrase is found out at once by `opens`."""

    def __init__(self, passphrase: str, salt: bytes) -> None:
        """Make the key; `ConfigError` if the library is not there."""
        both = hashlib.scrypt(
            passphrase.encode(),
            salt=salt,
            n=COST,
            r=BLOCK,
            p=1,
            maxmem=2 * 128 * COST * BLOCK,
            dklen=64,
        )
        self._cipher = _cipher(both[:32])
        self._tagging = both[32:]

    def seal(self, text: str) -> str:
        """The text, readable with this key only; never twice the same."""
        nonce = os.urandom(_NONCE)
        sealed: bytes = self._cipher.encrypt(nonce, text.encode(), _ABOUT)
        return b64encode(nonce + sealed).decode()

    def open(self, sealed: str) -> str:
        """The text; `ConfigError` if it was sealed by another key or was changed."""
        from cryptography.exceptions import InvalidTag

        try:
            raw = b64decode(sealed, validate=True)
            plain: bytes = self._cipher.decrypt(raw[:_NONCE], raw[_NONCE:], _ABOUT)
        except (InvalidTag, ValueError) as error:
            raise ConfigError(
                "wrong passphrase, or the record was changed from outside: try again"
            ) from error
        return plain.decode()

    def tag(self, text: str) -> str:
        """A mark by which equal texts are found without being read."""
        return hmac.new(self._tagging, text.encode(), hashlib.sha256).hexdigest()

    def proof(self) -> str:
        """What shows later whether a passphrase is the right one."""
        return self.seal(_PROOF)


def sealed(key: Key | None, text: str) -> str:
    """Sealed if there is a key; an empty text hides nothing."""
    return key.seal(text) if key and text else text


def opened(key: Key | None, text: str) -> str:
    """As it was before `sealed`."""
    return key.open(text) if key and text else text


def mark(key: Key | None, client: str) -> str:
    """By what a client is found: case and spaces at the ends do not count."""
    name = client.strip().casefold()
    return key.tag(name) if key and name else name


def new_salt() -> bytes:
    """For a new lock."""
    return os.urandom(16)


def key_of(passphrase: str, salt: bytes, proof: str) -> Key:
    """The key of a locked store; `ConfigError` if the passphrase is wrong."""
    key = Key(passphrase, salt)
    key.open(proof)
    return key


def _cipher(key: bytes) -> Any:
    try:
        from cryptography.hazmat.primitives.ciphers.aead import AESGCM
    except ImportError as error:
        raise ConfigError(
            "a locked record store needs the extra: pip install 'swatchword[private]'"
        ) from error
    return AESGCM(key)
