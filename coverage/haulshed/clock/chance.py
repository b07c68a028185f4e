"""How incidents turn out, drawn from a seed: who comes, and by what factor times are longer.

Each unit has a stream of its own, found by seed and id, so that the same seed draws the same for it
at every parcel and in every scenario, whatever other units there are.
"""

from collections.abc import Sequence

import numpy as np

from haulshed.clock.given import Luck
from haulshed.scenario import ChanceRules
from haulshed.shuttle.kernel import Floats

#: Trips of a tanker for which factors are drawn; after them they come round again.
_TRIPS = 24


def lognormal(normal: Floats, cv: float) -> Floats:
    """
    Return factors of mean 1 and standard deviation `cv` from standard normal numbers.

    Examples
    --------
    >>> lognormal(np.array([0.0, 1.0]), 0.0).tolist()
    [1.0, 1.0]
    """
    variance = np.log1p(cv * cv)
    factors: Floats = np.exp(np.sqrt(variance) * normal - variance / 2)
    return factors


def _stream(seed: int, name: str) -> np.random.Generator:
    return np.random.Generator(np.random.Philox(np.random.SeedSequence([seed, *name.encode()])))


def drawn(
    rules: ChanceRules, *, tankers: Sequence[str], engines: Sequence[str], staffed: Sequence[float]
) -> Luck:
    """
    Return `rules.draws` incidents; `staffed` is the share of calls of each tanker, then engine.

    Raises
    ------
    ValueError
        If `staffed` is not in step with the units.
    """
    units, draws = [*tankers, *engines], rules.draws
    streams = [_stream(rules.seed, name) for name in units]
    common = lognormal(_stream(rules.seed, "").standard_normal(draws), rules.incident_drive_cv)

    def each(cv: float) -> Floats:
        """Return a factor for each incident and unit, (D, units)."""
        normal = [stream.standard_normal(draws) for stream in streams]
        return lognormal(np.reshape(normal, (len(units), draws)).T, cv)

    def trips(cv: float) -> Floats:
        """Return a factor for each trip of each tanker, (D, n, T)."""
        normal = [stream.standard_normal((draws, _TRIPS)) for stream in streams[: len(tankers)]]
        shaped = np.reshape(normal, (len(tankers), draws, _TRIPS))
        return lognormal(shaped.transpose(1, 0, 2), cv)

    chance = np.reshape([stream.random(draws) for stream in streams], (len(units), draws)).T
    comes = chance < np.reshape(staffed, (1, len(units)))
    turnout, drive = each(rules.turnout_cv), each(rules.drive_cv) * common[:, None]
    n = len(tankers)
    return Luck(
        tanker_comes=comes[:, :n],
        engine_comes=comes[:, n:],
        tanker_turnout=turnout[:, :n],
        engine_turnout=turnout[:, n:],
        tanker_drive=drive[:, :n],
        engine_drive=drive[:, n:],
        site_handling=trips(rules.handling_cv),
        taking=trips(rules.fill_cv),
        unload_handling=trips(rules.handling_cv),
    )
