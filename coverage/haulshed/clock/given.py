"""What the clock is given: units, water and scenes, as arrays in step with each other.

n tankers, m engines, S fill sites on W sources, K weight classes of tankers, P scenes (one incident
each). Minutes count from dispatch. A unit that does not play has an arrival of infinity.
"""

from dataclasses import dataclass, fields

import numpy as np

from haulshed.shuttle.kernel import Flags, Floats, Ints

Shapes = dict[str, tuple[int, ...]]


def _shaped(value: object, shapes: Shapes) -> None:
    """Raise ValueError for an array field that has not its shape."""
    for name, shape in shapes.items():
        if getattr(value, name).shape != shape:
            msg = f"{name} has shape {getattr(value, name).shape}, not {shape}"
            raise ValueError(msg)


def _not_below_zero(value: object, *names: str) -> None:
    """Raise ValueError for an array field with a number below 0 or none."""
    for name in names:
        if not (getattr(value, name) >= 0).all():
            msg = f"no {name} may be below 0 or missing"
            raise ValueError(msg)


@dataclass(frozen=True, slots=True, kw_only=True)
class TankerCrews:
    """The tankers, in the order that settles ties."""

    load_gal: Floats  #: what a trip brings and takes, (n,)
    take_min: Floats  #: taking a load at each site, without handling, (n, S); inf: cannot
    unload_gpm: Floats  #: at a dump position; 0: cannot
    portable_gal: Floats  #: portable tank that it brings; 0: none
    crew: Ints
    weight_class: Ints  #: row of the legs that it drives by, 0 … K - 1
    turnout_min: Floats  #: part of its arrival that is not driving
    down_min: Floats  #: minute at which it breaks down; inf: never

    def __post_init__(self) -> None:
        """Check shapes and signs."""
        shape = self.load_gal.shape
        shapes: Shapes = dict.fromkeys((field.name for field in fields(self)), shape)
        _shaped(self, shapes | {"take_min": (*shape, self.take_min.shape[-1])})
        _not_below_zero(self, *shapes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Engines:
    """The engines, in the order that settles ties."""

    tank_gal: Floats  #: (m,)
    portable_gal: Floats  #: portable tank that it brings; 0: none
    hose_ft: Floats  #: supply hose that it brings
    crew: Ints
    turnout_min: Floats  #: part of its arrival that is not driving
    site_min: Floats  #: arrival at each site, were it sent there, turnout included, (m, S)

    def __post_init__(self) -> None:
        """Check shapes and signs."""
        shape = self.tank_gal.shape
        shapes: Shapes = dict.fromkeys((field.name for field in fields(self)), shape)
        _shaped(self, shapes | {"site_min": (*shape, self.site_min.shape[-1])})
        _not_below_zero(self, *shapes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """The fill sites and the sources that they draw from."""

    handling_min: Floats  #: (S,)
    positions: Ints
    flow_gpm: Floats
    needs_pumper: Flags
    open: Flags
    closes_min: Floats  #: minute at which it freezes or dries; inf: never
    source: Ints  #: row of its source, (S,)
    source_gpm: Floats  #: flow that the source gives all its sites together, (W,)
    stored_gal: Floats  #: what it holds at dispatch, and at most; inf: not limited
    recharge_gpm: Floats

    def __post_init__(self) -> None:
        """Check shapes and signs."""
        of_site, of_source = self.flow_gpm.shape, self.source_gpm.shape
        shapes: Shapes = dict.fromkeys((field.name for field in fields(self)), of_site)
        _shaped(
            self, shapes | dict.fromkeys(("source_gpm", "stored_gal", "recharge_gpm"), of_source)
        )
        _not_below_zero(self, *shapes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenes:
    """The incidents, P of them, each to be played by itself."""

    tanker_min: Floats  #: arrival of each tanker, (P, n); inf: does not play
    engine_min: Floats  #: arrival of each engine, were it sent to the incident, (P, m)
    loaded_min: Floats  #: leg from each site by weight class, (P, K, S); inf: none
    empty_min: Floats  #: leg back
    lay_ft: Floats  #: (P,)
    line_gpm: Floats  #: what a dump site's pump and lay carry
    pump_off_gpm: Floats  #: what each tanker pumps through the lay, (P, n); 0: cannot nurse
    asked_gpm: Floats  #: between the attack and overhaul
    builds: Flags  #: whether a dump site is built
    plan_gpm: (
        Floats  #: by how much of the flow each site is to carry tankers are shared out, (P, S)
    )
    pumper_sites: Ints  #: sites that get pumpers, the first to get one first, (P, D); -1: no more
    pumper_first: Flags  #: whether the first of them gets its pumper before the dump site does

    def __post_init__(self) -> None:
        """Check shapes and signs."""
        (places, tankers), engines = self.tanker_min.shape, self.engine_min.shape[1]
        shapes: Shapes = dict.fromkeys((field.name for field in fields(self)), (places,))
        shapes |= {"tanker_min": (places, tankers), "pump_off_gpm": (places, tankers)}
        shapes |= {"engine_min": (places, engines), "empty_min": self.loaded_min.shape}
        shapes |= {"loaded_min": (places, *self.loaded_min.shape[1:])}
        shapes |= {"plan_gpm": (places, self.loaded_min.shape[-1])}
        shapes |= {"pumper_sites": (places, self.pumper_sites.shape[-1])}
        _shaped(self, shapes)
        _not_below_zero(self, "tanker_min", "engine_min", "loaded_min", "empty_min", "line_gpm")
        _not_below_zero(self, "pump_off_gpm", "asked_gpm", "plan_gpm")

    def at(self, which: Ints) -> "Scenes":
        """Return some of the scenes."""
        return Scenes(**{field.name: getattr(self, field.name)[which] for field in fields(self)})


@dataclass(frozen=True, slots=True, kw_only=True)
class Luck:
    """
    How D incidents turn out: who comes, and by what factor times are longer.

    Handling and taking water have a factor for every trip of a tanker, T of them, counted from the
    load that it brings; a tanker with more trips begins at the first factor again.
    """

    tanker_comes: Flags  #: (D, n)
    engine_comes: Flags  #: (D, m)
    tanker_turnout: Floats  #: factor of the turnout, (D, n)
    engine_turnout: Floats  #: (D, m)
    tanker_drive: Floats  #: factor of all driving, (D, n)
    engine_drive: Floats  #: (D, m)
    site_handling: Floats  #: (D, n, T)
    taking: Floats  #: (D, n, T)
    unload_handling: Floats  #: of coupling, and of handling at a dump position, (D, n, T)

    def at(self, which: Ints) -> "Luck":
        """Return some of the draws."""
        return Luck(**{field.name: getattr(self, field.name)[which] for field in fields(self)})

    @classmethod
    def constant(cls, tankers: int, engines: int) -> "Luck":
        """Return the one incident in which everybody comes and no time varies."""
        one, trip = np.ones((1, tankers)), np.ones((1, tankers, 1))
        return cls(
            tanker_comes=np.ones((1, tankers), np.bool_),
            engine_comes=np.ones((1, engines), np.bool_),
            tanker_turnout=one,
            engine_turnout=np.ones((1, engines)),
            tanker_drive=one,
            engine_drive=np.ones((1, engines)),
            site_handling=trip,
            taking=trip,
            unload_handling=trip,
        )
