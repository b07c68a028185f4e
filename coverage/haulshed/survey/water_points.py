"""What the tags of a hydrant, suction point, tank or pond say of it as a fill site."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from math import isnan, nan

from haulshed.survey.amounts import flow_gpm, volume_gal
from haulshed.survey.defaults import FLOW_GPM, VOLUME_GAL
from haulshed.tables.fill_sites import SiteKind
from haulshed.tables.sources import Source
from haulshed.units import KPA_PER_PSI

Tags = Mapping[str, str]

#: Values of `water_source` that run, and those that stand; ``main`` is neither.
_RUNNING = frozenset(("river", "stream", "canal", "ditch", "drain"))
_STANDING = frozenset(
    ("pond", "lake", "reservoir", "basin", "swimming_pool", "groundwater", "well")
)
_FLOW_KEYS = ("flow_rate", "fire_hydrant:flow_rate", "fire_hydrant:flow_capacity")
_VOLUME_KEYS = ("water_tank:volume", "water_volume", "volume", "capacity")
_OUT_OF_USE = ("disused", "abandoned")
_KPA_PER_BAR = 100
#: No main stands at more [bar]; a larger figure is in another unit.
_BAR_MAX = 25.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterPoint:
    """A fill site as the tags have it; columns of fill_sites where named alike."""

    kind: SiteKind
    name: str
    flow_gpm: float
    flow_source: Source
    static_psi: float  #: NaN: not mapped
    usable_gal: float  #: NaN: not limited
    volume_source: Source
    status: str
    not_understood: tuple[str, ...]  #: ``key=value`` of flows and volumes without a unit, say


def water_point(tags: Tags) -> WaterPoint:
    """
    Return what the tags of a place say that :func:`~haulshed.survey.place.is_water_point`.

    Keys and values as the OpenStreetMap wiki has them: `fire_hydrant:type` (pillar, underground,
    wall, pipe, pond), `fire_hydrant:pressure` (a number in bar, yes, suction), `water_source`. A
    *dry barrel* is a pillar on a main whose barrel drains against frost: a hydrant, no dry hydrant.

    Examples
    --------
    >>> water_point({"emergency": "fire_hydrant", "pillar:type": "dry_barrel"}).kind.value
    'hydrant'
    >>> point = water_point({"emergency": "suction_point", "water_source": "stream"})
    >>> point.kind.value, point.flow_gpm, point.flow_source.value
    ('stream', 250.0, 'default')
    """
    kind = _kind(tags)
    flow, flow_source = _stated(tags, _FLOW_KEYS, flow_gpm, FLOW_GPM[kind])
    volume, volume_source = nan, Source.DEFAULT
    if kind in VOLUME_GAL:
        volume, volume_source = _stated(tags, _VOLUME_KEYS, volume_gal, VOLUME_GAL[kind])
    return WaterPoint(
        kind=kind,
        name=_name(tags),
        flow_gpm=flow,
        flow_source=flow_source,
        static_psi=_static_psi(tags),
        usable_gal=volume,
        volume_source=volume_source,
        status="closed" if any(tags.get(key) == "yes" for key in _OUT_OF_USE) else "open",
        not_understood=(
            *_not_understood(tags, _FLOW_KEYS, flow_gpm),
            *(_not_understood(tags, _VOLUME_KEYS, volume_gal) if kind in VOLUME_GAL else ()),
        ),
    )


def _kind(tags: Tags) -> SiteKind:
    what, source = tags.get("emergency"), tags.get("water_source", "")
    if what == "water_tank" or source == "water_tank":
        return SiteKind.CISTERN
    if what == "fire_water_pond" or tags.get("fire_hydrant:type") == "pond":
        return SiteKind.POND
    pressure = tags.get("fire_hydrant:pressure", "")
    drafted = (
        what == "suction_point"
        or pressure == "suction"
        or (not pressure and source in _RUNNING | _STANDING)
    )
    if not drafted:
        return SiteKind.HYDRANT
    return SiteKind.STREAM if source in _RUNNING else SiteKind.DRY_HYDRANT


def _stated(
    tags: Tags, keys: Iterable[str], read: Callable[[str], float], default: float
) -> tuple[float, Source]:
    """Return the first amount that is understood, or the default, and whose it is."""
    amounts = (read(tags[key]) for key in keys if key in tags)
    stated = next((amount for amount in amounts if not isnan(amount)), None)
    return (default, Source.DEFAULT) if stated is None else (stated, Source.OSM)


def _not_understood(tags: Tags, keys: Iterable[str], read: Callable[[str], float]) -> Iterable[str]:
    return (f"{key}={tags[key]}" for key in keys if key in tags and isnan(read(tags[key])))


def _static_psi(tags: Tags) -> float:
    """Return the pressure with no flow; `fire_hydrant:pressure` is in bar where it is a number."""
    text = tags.get("fire_hydrant:pressure", "")
    try:
        bar = float(text)
    except ValueError:
        return nan
    return bar * _KPA_PER_BAR / KPA_PER_PSI if 0 < bar <= _BAR_MAX else nan


def _name(tags: Tags) -> str:
    """Return what tells the place from others: its name or number, its type, its main."""
    main = tags.get("fire_hydrant:diameter", "")
    parts = (
        tags.get("name") or tags.get("ref", ""),
        tags.get("fire_hydrant:type", "").replace("_", " "),
        f"main {main} mm" if main.isdecimal() else "",
    )
    return ", ".join(part for part in parts if part)
