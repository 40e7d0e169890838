"""Time zones to choose from, and the one this machine keeps."""

from functools import lru_cache
from pathlib import Path
from zoneinfo import available_timezones

NEUTRAL = "UTC"
_LOCALTIME = Path("/etc/localtime")  # a link into the zone database, on Linux and macOS


@lru_cache(maxsize=1)
def zones() -> tuple[str, ...]:
    """Every zone of the database by its name, such as Europe/London."""
    return tuple(sorted(available_timezones()))


def zone_of_machine(link: Path = _LOCALTIME) -> str:
    """The zone this machine is set to, else UTC: a first guess for the household."""
    _, _, name = str(link.resolve()).partition("/zoneinfo/")
    return name if name in zones() else NEUTRAL
