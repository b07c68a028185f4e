"""Where a paper's figures came from, in one line that fits under a page."""

from datetime import datetime

from haulshed.case import Provenance

#: Characters of a hash that are enough to tell files apart by eye.
SHORT_HASH = 8


def made_on(provenance: Provenance) -> str:
    """Return the date of the run."""
    return datetime.fromisoformat(provenance.made).date().isoformat()


def short_hashes(provenance: Provenance) -> str:
    """Return each input file with the beginning of its SHA-256."""
    pairs = provenance.input_sha256.items()
    return ", ".join(f"{name} {sha256[:SHORT_HASH]}" for name, sha256 in pairs)


def origin_line(district: str, provenance: Provenance) -> str:
    """Return district, scenario, date and version."""
    return (
        f"{district} · scenario {provenance.scenario_name} · {made_on(provenance)}"
        f" · haulshed {provenance.version}"
    )
