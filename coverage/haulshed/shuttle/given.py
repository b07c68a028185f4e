"""What the shuttle model is given: tankers, fill sites and places, as arrays."""

from dataclasses import dataclass, fields

import numpy as np

from haulshed.shuttle.kernel import Flags, Floats, Ints


def _shaped(value: object, shapes: dict[str, tuple[int, ...]]) -> None:
    """Raise ValueError for an array field that has not its shape."""
    for name, shape in shapes.items():
        if getattr(value, name).shape != shape:
            msg = f"{name} has shape {getattr(value, name).shape}, not {shape}"
            raise ValueError(msg)


def _above_zero(value: object, *names: str) -> None:
    """Raise ValueError for an array field with a number that is not above 0."""
    for name in names:
        if not (getattr(value, name) > 0).all():
            msg = f"every {name} must be above 0"
            raise ValueError(msg)


def _not_below_zero(value: object, *names: str) -> None:
    """Raise ValueError for an array field with a number below 0 or none."""
    for name in names:
        if not (getattr(value, name) >= 0).all():
            msg = f"no {name} may be below 0 or missing"
            raise ValueError(msg)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tankers:
    """All tankers that may come, n of them."""

    tank_gal: Floats
    usable_gal: Floats  #: what one trip delivers
    fill_gpm: Floats  #: fastest that it takes water
    dump_gpm: Floats  #: nan: no working dump valve
    release_gpm: Floats  #: through its tank-to-pump valve and pump, without a lay; 0: none
    portable_tank: Flags  #: whether it brings a portable tank
    weight_class: Ints  #: 0 … K - 1: which of the legs of :class:`Places` are its own

    def __post_init__(self) -> None:
        """Check shapes and signs."""
        _shaped(self, {field.name: self.tank_gal.shape for field in fields(self)})
        _above_zero(self, "tank_gal", "usable_gal", "fill_gpm")
        _not_below_zero(self, "release_gpm", "weight_class")

    def at(self, which: Ints) -> "Tankers":
        """Return some of the tankers."""
        return Tankers(**{field.name: getattr(self, field.name)[which] for field in fields(self)})

    @property
    def unload_gpm(self) -> Floats:
        """Rate at the dump site [gpm]: the valve, else through hose at the pump-off rate."""
        return np.where(np.isnan(self.dump_gpm), self.release_gpm, self.dump_gpm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sites:
    """
    All fill sites, S of them, the closed ones too.

    Sites with one `source` share its water, which is not counted twice: the source gives the
    largest flow stated for any of its open sites, and holds the largest volume and recharge stated
    for them (one pond measured from two banks is still one pond; a site without a figure states
    nothing). Each site gives no more than its own flow.
    """

    flow_gpm: Floats
    usable_gal: Floats  #: inf: not limited
    recharge_gpm: Floats
    source: Ints  #: number of the main or water body
    fill_positions: Ints
    handling_min: Floats
    needs_pumper: Flags
    open: Flags

    def __post_init__(self) -> None:
        """Check shapes and signs."""
        _shaped(self, {field.name: self.flow_gpm.shape for field in fields(self)})
        _not_below_zero(
            self, "flow_gpm", "usable_gal", "recharge_gpm", "fill_positions", "handling_min"
        )

    def at(self, which: Ints) -> "Sites":
        """Return the sites in another order."""
        return Sites(**{field.name: getattr(self, field.name)[which] for field in fields(self)})

    def of_source(self, of_site: Floats) -> Floats:
        """Return the largest finite figure of the open sites on each source; inf for none."""
        stated = np.where(np.isfinite(of_site) & self.open, of_site, -np.inf)
        _, member = np.unique(self.source, return_inverse=True)
        largest = np.full(member.max(initial=-1) + 1, -np.inf)
        np.maximum.at(largest, member, stated)
        return np.where(np.isneginf(largest), np.inf, largest)[member]

    @property
    def gives_water(self) -> Flags:
        """Whether a site is open and anything can be filled at it."""
        volume = (self.of_source(self.usable_gal) > 0) | (self.of_source(self.recharge_gpm) > 0)
        return self.open & (self.flow_gpm > 0) & (self.fill_positions > 0) & volume


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """
    The access points, P of them: what reaches them and what they need.

    Legs differ by weight class, K of them: tankers that the same posted limits stop, loaded and
    empty, are in one class, and with no limits on the roads all are in class 0.

    `line_bound` and `pump_off_bound` are codes of :data:`haulshed.shuttle.limits.LIMITS`:
    ``SUPPLY_LINE`` or ``PUMP``, and for pumping off also ``NURSE_LINE`` (the tanker's own valve).
    """

    loaded_min: Floats  #: leg of each class from each site, (P, K, S); inf: none
    empty_min: Floats  #: leg back
    arrival_min: Floats  #: of each tanker, from dispatch, (P, n)
    counted: Flags  #: whether the tanker is there within assembly_min, (P, n)
    engines: Ints  #: that count
    dump_positions: Ints  #: tankers that may unload at once, at most
    other_tanks: Ints  #: portable tanks there that no tanker brings
    hose_reaches: Flags  #: whether the hose there is as long as the lay
    line_gpm: Floats  #: what a dump site's pump and lay carry; 0: the hose does not reach
    line_bound: Ints
    pump_off_gpm: Floats  #: what each tanker pumps through the lay, (P, n); 0: none
    pump_off_bound: Ints
    needed_gpm: Floats  #: nan: none stated
    duration_min: Floats
    on_road: Flags  #: whether there is an access point at all

    def __post_init__(self) -> None:
        """Check shapes and signs."""
        (places, tankers), one = self.arrival_min.shape, self.engines.shape
        by_site, by_tanker = (places, *self.loaded_min.shape[-2:]), (places, tankers)
        shapes = {field.name: one for field in fields(self)}
        shapes |= dict.fromkeys(("loaded_min", "empty_min"), by_site)
        shapes |= dict.fromkeys(("counted", "pump_off_gpm", "pump_off_bound"), by_tanker)
        shapes |= {"engines": (places,), "arrival_min": by_tanker}
        _shaped(self, shapes)
        _above_zero(self, "duration_min")
        _not_below_zero(self, "loaded_min", "empty_min", "line_gpm", "pump_off_gpm", "engines")
        _not_below_zero(self, "dump_positions", "other_tanks")

    def at(self, which: slice | Ints, *, tankers: Ints, sites: Ints) -> "Places":
        """Return some of the places, their tankers and sites in another order."""
        columns = dict.fromkeys(("loaded_min", "empty_min"), sites)
        columns |= dict.fromkeys(
            ("arrival_min", "counted", "pump_off_gpm", "pump_off_bound"), tankers
        )
        parts = {field.name: getattr(self, field.name)[which] for field in fields(self)}
        parts |= {name: parts[name][..., order] for name, order in columns.items()}
        return Places(**parts)
