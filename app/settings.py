"""Where the ledger lies and where it is served: decided once, from arguments and environment."""

import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

DEFAULT_HOST = "127.0.0.1"
DEFAULT_PORT = 8765
DEFAULT_HTTPS_PORT = 8766
EVERY_INTERFACE = "0.0.0.0"  # noqa: S104 (only when asked for, and then devices are paired)
DATA_VARIABLE = "STILLROOM_DATA"
DATABASE_VARIABLE = "STILLROOM_DATABASE"


@dataclass(frozen=True, slots=True)
class Settings:
    """How this start of the program was asked for."""

    data_dir: Path
    host: str = DEFAULT_HOST
    port: int = DEFAULT_PORT
    demo: bool = False
    names: tuple[str, ...] = ()  # further names under which it may be asked for
    database: str = ""  # address of a database of PostgreSQL; else the ledger is a file
    https: bool = False  # also over TLS, on a port of its own
    https_port: int = DEFAULT_HTTPS_PORT

    @property
    def data_file(self) -> Path:
        """The one file that holds the whole ledger, unless a database does."""
        return self.data_dir / "stillroom.db"

    @property
    def copies(self) -> Path:
        """The folder of the daily copies."""
        return self.data_dir / "copies"

    @property
    def is_opened(self) -> bool:
        """May other devices of the home network reach it?"""
        return not self.host.startswith("127.") and self.host not in ("localhost", "::1")


def settings_from(
    *,
    data: Path | None = None,
    demo: bool = False,
    host: str = DEFAULT_HOST,
    port: int = DEFAULT_PORT,
    names: tuple[str, ...] = (),
    database: str | None = None,
    environment: Mapping[str, str] | None = None,
) -> Settings:
    """Settle where the ledger lies: the argument first, then the environment, then the habit.

    Args:
        data: the folder asked for, if any. demo: the made-up household, in a folder of its own
            below it and always a file, so that it never touches the real ledger.
        host, port: where to listen. names: further names it may be asked for by.
        database: address of a database of PostgreSQL, for a ledger that is no file.
        environment: variables, by default those of the process.
    Returns:
        The settings, with an absolute folder.
    """
    variables = os.environ if environment is None else environment
    told = data or (Path(variables[DATA_VARIABLE]) if variables.get(DATA_VARIABLE) else None)
    folder = (told or _habitual_folder(variables)).expanduser().resolve()
    if demo:
        return Settings(folder / "demo", host, port, demo, names)
    told_database = variables.get(DATABASE_VARIABLE, "") if database is None else database
    return Settings(folder, host, port, demo, names, told_database)


def _habitual_folder(variables: Mapping[str, str]) -> Path:
    """The per-user data folder of the platform (on Linux, XDG Base Directory, freedesktop.org)."""
    if sys.platform == "win32":
        return Path(variables.get("LOCALAPPDATA") or Path.home() / "AppData/Local") / "Stillroom"
    if sys.platform == "darwin":
        return Path.home() / "Library/Application Support/Stillroom"
    told = Path(variables.get("XDG_DATA_HOME", ""))
    return (told if told.is_absolute() else Path.home() / ".local/share") / "stillroom"
