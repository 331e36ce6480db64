"""The server as the one that signs: its key, and the protocol and settings that it serves with."""

import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec

from server.config import Config
from server.core import protocol, strict_json
from server.core.crypto import Jwk, PrivateKey, jwk_of, thumbprint
from server.core.errors import InvalidInput
from server.core.protocol import Protocol

_SHARED_DEPTH_MAX = 32


@dataclass(frozen=True)
class Authority:
    """`device` is the thumbprint of the server's key: the device of every office log."""

    key: PrivateKey
    jwk: Jwk
    device: str
    protocol: Protocol
    settings: dict[str, Any]


def load(config: Config) -> Authority:
    """Reads the server's key, making one on the first start, and the shared protocol and settings.

    Raises InvalidInput where the key is gone and its database is still there.
    """
    key = _key(config)
    jwk = jwk_of(key)
    shared = config.shared_folder
    document = _json(shared / "protocol" / "phaco-cataract.json")
    settings = _json(shared / "unit" / "settings.json")
    return Authority(key, jwk, thumbprint(jwk), protocol.load(document), settings)


def _json(path: Path) -> dict[str, Any]:
    value = strict_json.parse(path.read_bytes(), _SHARED_DEPTH_MAX)
    if not isinstance(value, dict):
        raise TypeError(path)
    return value


def _key(config: Config) -> PrivateKey:
    path = config.server_key_path
    if not path.exists():
        # With another key every tablet would be turned away and nothing would say why.
        if config.embedded_database_path.exists():
            raise InvalidInput(str(path), "no key beside a database that has one", "the key's file from the backup")
        _make_key(path)
    key = serialization.load_pem_private_key(path.read_bytes(), password=None)
    if not isinstance(key, PrivateKey):
        raise TypeError(f"{path} does not hold a P-256 key")
    return key


def _make_key(path: Path) -> None:
    """Puts a whole key in place in one move; of two servers that start at once the second takes the first's."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with NamedTemporaryFile(dir=path.parent) as file:  # made for the owner's eyes only
        file.write(_pem(ec.generate_private_key(ec.SECP256R1())))
        file.flush()
        os.fsync(file.fileno())
        # If we stop here, there is no key yet, and nobody has pinned one: the next start makes another.
        with suppress(FileExistsError):
            path.hardlink_to(file.name)
    # The key's name must be on the disk before anybody pins it: without the key no device could be taken back.
    folder = os.open(path.parent, os.O_RDONLY)
    os.fsync(folder)
    os.close(folder)


def _pem(key: PrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
