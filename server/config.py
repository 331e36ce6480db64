"""The settings of one server: the only reader of the environment.

HUBHELD_DATA      folder of the server's key and the embedded database (default: .hubheld beside the code)
HUBHELD_DATABASE  database address (default: the embedded SQLite file in the data folder)
HUBHELD_WEB       folder of the built web client (default: web/dist beside the code)
"""

import os
from dataclasses import dataclass
from pathlib import Path

TOP = Path(__file__).resolve().parent.parent

BODY_BYTES_MAX = 1024 * 1024
ENTRIES_MAX = 500

EMBEDDED = "hubheld.sqlite"


@dataclass(frozen=True)
class Config:
    """Where one server keeps its key and its data, and what it serves."""

    data_folder: Path
    database_url: str
    web_folder: Path
    shared_folder: Path

    @property
    def server_key_path(self) -> Path:
        """The private key as PEM; made on the first start, readable by the server's account only."""
        return self.data_folder / "server_key.pem"

    @property
    def embedded_database_path(self) -> Path:
        """The SQLite file that serves where no other database is named."""
        return self.data_folder / EMBEDDED


def in_folder(data_folder: Path, database_url: str | None = None, web_folder: Path | None = None) -> Config:
    """Settings of a server whose data lies in `data_folder`."""
    return Config(
        data_folder=data_folder,
        database_url=database_url or f"sqlite:///{(data_folder / EMBEDDED).resolve()}",
        web_folder=web_folder or TOP / "web" / "dist",
        shared_folder=TOP / "shared",
    )


def from_environment() -> Config:
    """Settings as the environment gives them."""
    web = os.environ.get("HUBHELD_WEB")
    return in_folder(
        Path(os.environ.get("HUBHELD_DATA") or TOP / ".hubheld"),
        os.environ.get("HUBHELD_DATABASE") or None,
        Path(web) if web else None,
    )
