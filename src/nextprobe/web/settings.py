"""What the server is told when it starts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from ipaddress import ip_address
from pathlib import Path

from nextprobe.errors import MisuseError

MEBIBYTE = 2**20


@dataclass(frozen=True)
class Settings:
    """How the server is set up.

    Parameters
    ----------
    home : Path or None
        Folder of jobs; the usual one if None.
    host : str
        Address that it listens at.
    port : int or None
        Where clients reach it; any port will do if None.
    names : frozenset of str
        Further names under which clients may reach it.
    passphrase_hash : str
        Of the passphrase (argon2id, encoded); nobody has to log in if empty.
    behind_tls : bool
        Whether clients reach it by its further names over TLS only, which a proxy ends.
    packs : mapping of str to Path, or None
        Folders of packs by name; the demo packs and those in ``packs`` beside the jobs if None.
    json_bytes : int
        Largest body of a request [bytes].
    photo_bytes : int
        Largest photo [bytes].
    photo_pixels : int
        Most pixels of a photo.
    session_seconds : float
        How long a login lasts [s].
    watch_seconds : float
        How often to look for what other programs wrote to a watched job [s].
    beat_seconds : float
        How often a live channel says that it is alive [s].

    Raises
    ------
    MisuseError
        If it would be reached from beyond this machine without a passphrase, or over TLS with no
        name.
    """

    home: Path | None = None
    host: str = "127.0.0.1"
    port: int | None = None
    names: frozenset[str] = frozenset()
    passphrase_hash: str = field(default="", repr=False)
    behind_tls: bool = False
    packs: Mapping[str, Path] | None = field(default=None, hash=False)
    json_bytes: int = MEBIBYTE // 2
    photo_bytes: int = 24 * MEBIBYTE
    photo_pixels: int = 80_000_000
    session_seconds: float = 12 * 3600.0
    watch_seconds: float = 1.0
    beat_seconds: float = 5.0

    def __post_init__(self) -> None:
        if not is_loopback(self.host) and not self.passphrase_hash:
            raise MisuseError(
                f"{self.host} can be reached by other machines, and there is no passphrase: set "
                "one with 'nextprobe passphrase FILE' and give --passphrase-file FILE, or put "
                "its hash into NEXTPROBE_PASSPHRASE_HASH"
            )
        if self.behind_tls and not (self.passphrase_hash and self.names):
            raise MisuseError(
                "a proxy with TLS passes on what other machines send: give --passphrase-file FILE, "
                "and --name NAME for the name that they call"
            )


def is_loopback(host: str) -> bool:
    """Tell whether only this machine can reach an address."""
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host.lower() == "localhost"


def is_everywhere(host: str) -> bool:
    """Tell whether an address stands for all addresses of this machine."""
    try:
        return ip_address(host.strip("[]")).is_unspecified
    except ValueError:
        return False
