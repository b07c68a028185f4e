"""What the play of an incident rests on, as hashes: on the same basis it comes out the same.

The basis has two parts. The first is all but the fill sites: the units that play and how they turn
out, the lay, the flow asked for. The second is the fill sites that were in question, and only a
play can say which: those of the plan, those that get pumpers, and those no farther than any tanker
has looked. A site beyond these may change, come or go, and the play stays what it was.
"""

from collections.abc import Iterator
from hashlib import blake2b
from math import prod

import numpy as np
from numpy.typing import NDArray

from haulshed.clock.batch import Heard
from haulshed.clock.given import Luck, Scenes, Water
from haulshed.clock.setting import Setting, draws_of, fixed_of
from haulshed.clock.state import TAKES_MIN
from haulshed.shuttle.kernel import Flags, Floats, Ints

#: 64-bit words: the bits of numbers, and of hashes.
Words = NDArray[np.uint64]
#: Words of a hash.
HASH_WORDS = 2
_HASH_BYTES = HASH_WORDS * 8

#: Figures that say how far tankers looked: one for each of :data:`TAKES_MIN`.
LOOKS = len(TAKES_MIN)

#: So much longer than looked a site's legs are before it is out of question [min]: much more than
#: what separates moments that count as one.
_MARGIN_MIN = 1e-3


class Basis:
    """What plays in one setting, with one luck, rest on."""

    def __init__(self, setting: Setting, luck: Luck) -> None:
        draws = draws_of(luck)
        tankers, engines = setting.tankers, setting.engines
        self._common = _common(setting, draws.tankers.shape[0])
        self._tankers = _of_each(
            *(tankers.load_gal, tankers.unload_gpm, tankers.portable_gal, tankers.crew),
            *(tankers.weight_class, tankers.turnout_min, tankers.down_min),
            *(draws.tankers.swapaxes(0, 1), draws.trips.swapaxes(0, 1)),
        )
        self._engines = _of_each(
            *(engines.tank_gal, engines.portable_gal, engines.hose_ft, engines.crew),
            *(engines.turnout_min, draws.engines.swapaxes(0, 1)),
        )
        self._sites = _of_sites(setting.water)
        self._source = setting.water.source
        at_site_min = setting.water.handling_min + tankers.take_min.min(axis=0, initial=np.inf)
        self._look = np.searchsorted(TAKES_MIN, at_site_min, side="right") - 1
        self._take_min = np.ascontiguousarray(tankers.take_min.T)
        self._site_min = np.ascontiguousarray(engines.site_min.T)

    def incidents(self, scenes: Scenes) -> Words:
        """Return a hash of all but the fill sites, (P, 2)."""
        tankers, engines = _playing(scenes)
        many, classes = scenes.lay_ft.size, scenes.loaded_min.shape[1]
        heads = (
            *(scenes.lay_ft, scenes.line_gpm, scenes.asked_gpm, scenes.builds),
            *(scenes.pumper_first, tankers.sum(axis=1), engines.sum(axis=1)),
            np.full(many, classes),
        )
        tanker, engine = np.nonzero(tankers)[1], np.nonzero(engines)[1]
        of_tankers = (scenes.tanker_min[tankers], scenes.pump_off_gpm[tankers])
        return _hashed(
            self._common,
            _split(_table(*heads), np.ones(many, np.int64)),
            _split(_table(self._tankers[tanker], *of_tankers), tankers.sum(axis=1)),
            _split(_table(self._engines[engine], scenes.engine_min[engines]), engines.sum(axis=1)),
        )

    def sites(self, scenes: Scenes, looked_min: Floats) -> Words:
        """
        Return a hash of the fill sites in question where tankers look so far, (P, 2).

        Parameters
        ----------
        scenes
            The incidents, P of them.
        looked_min
            How far, as :func:`looked` says it, (P, 4) [min].
        """
        tankers, engines = _playing(scenes)
        asked = _in_question(scenes, looked_min[:, self._look])
        place, site = np.nonzero(asked)
        pumped, order = np.nonzero(scenes.pumper_sites >= 0)
        to_pump = scenes.pumper_sites[pumped, order]
        rank, sites = asked.cumsum(axis=1) - 1, asked.sum(axis=1)
        pumpers = np.bincount(pumped, minlength=len(asked))
        of_site = _table(
            self._sites[site],
            rank[place, _first_on_source(place, site, self._source)],
            scenes.plan_gpm[place, site],
            scenes.loaded_min.transpose(0, 2, 1)[place, site],
            scenes.empty_min.transpose(0, 2, 1)[place, site],
        )
        take_min = self._take_min[site][tankers[place]]
        engine_min = self._site_min[to_pump][engines[pumped]]
        return _hashed(
            b"",
            _split(_table(sites, pumpers), np.ones(len(asked), np.int64)),
            _split(of_site, sites),
            _split(_table(take_min), sites * tankers.sum(axis=1)),
            _split(_table(rank[pumped, to_pump]), pumpers),
            _split(_table(engine_min), pumpers * engines.sum(axis=1)),
        )


def _playing(scenes: Scenes) -> tuple[Flags, Flags]:
    """Return which tankers and which engines play, (P, n) and (P, m)."""
    return np.isfinite(scenes.tanker_min), np.isfinite(scenes.engine_min)


def looked(heard: Heard) -> Floats:
    """
    Return how far tankers looked in all plays of each incident, (P, 4) [min].

    As legs both ways at the planned pace: for all sites, and for those where handling and taking
    water take no tanker less than 2, 4, 6 min.
    """
    looks = (heard.looked_min, heard.looked_2_min, heard.looked_4_min, heard.looked_6_min)
    farthest_min = np.column_stack([np.fmax.reduce(look, axis=1) for look in looks])
    return np.where(np.isnan(farthest_min), 0.0, farthest_min)


def _in_question(scenes: Scenes, looked_min: Floats) -> Flags:
    """Return which sites a play has to do with where tankers look so far for each, (P, S)."""
    legs_min = (scenes.loaded_min + scenes.empty_min).min(axis=1)
    asked = (legs_min <= looked_min + _MARGIN_MIN) | (scenes.plan_gpm > 0)
    place, order = np.nonzero(scenes.pumper_sites >= 0)
    asked[place, scenes.pumper_sites[place, order]] = True
    return np.asarray(asked)


def _first_on_source(place: Ints, site: Ints, source: Ints) -> Ints:
    """Return for each pair of place and site, in order, the first site there on its source."""
    pairs = np.column_stack((place, source[site]))
    _, first, member = np.unique(pairs, axis=0, return_index=True, return_inverse=True)
    return np.asarray(site[first][member.reshape(-1)])


def _common(setting: Setting, draws: int) -> bytes:
    """Return what all plays of a setting have in common: rules, and moments in their calendar."""
    down_min, closes_min = setting.tankers.down_min, setting.water.closes_min
    days = [np.sort(days[np.isfinite(days)]) for days in (down_min, closes_min)]
    numbers = (*fixed_of(setting).times, draws, *(day.size for day in days), *np.concatenate(days))
    return _words(np.array(numbers, np.float64)).tobytes()


def _of_each(*columns: Floats | Ints) -> Words:
    """Return a hash of each unit's figures, (units, 2); `columns` have a row a unit."""
    rows = _table(*(one.reshape(len(one), prod(one.shape[1:])) for one in columns))
    return _hashed(b"", _split(rows, np.ones(len(rows), np.int64)))


def _of_sites(water: Water) -> Words:
    """Return the figures of each site and its source, (S, 9)."""
    return _table(
        *(water.handling_min, water.positions, water.flow_gpm, water.needs_pumper, water.open),
        *(water.closes_min, water.source_gpm[water.source], water.stored_gal[water.source]),
        water.recharge_gpm[water.source],
    )


def _words(numbers: Floats | Ints | Flags | Words) -> Words:
    """Return the bits of numbers as floats; words stay what they are."""
    if numbers.dtype == np.uint64:
        return np.asarray(numbers, np.uint64)
    return np.ascontiguousarray(numbers, np.float64).view(np.uint64)


def _table(*columns: Floats | Ints | Flags | Words) -> Words:
    """Return columns side by side, as words, (rows, ·)."""
    return np.column_stack([_words(one) for one in columns])


def _split(rows: Words, counts: Ints) -> Iterator[bytes]:
    """Yield the bytes of the first so many rows, of the next so many, and so on."""
    whole, size, start = np.ascontiguousarray(rows).tobytes(), rows.itemsize * rows.shape[1], 0
    for count in counts.tolist():
        yield whole[start * size : (start + count) * size]
        start += count


def _hashed(common: bytes, *parts: Iterator[bytes]) -> Words:
    """Return a hash of each first, second … of the parts together, (·, 2)."""
    made = [
        blake2b(common + b"".join(pieces), digest_size=_HASH_BYTES).digest()
        for pieces in zip(*parts, strict=True)
    ]
    return np.frombuffer(b"".join(made), np.uint64).reshape(-1, HASH_WORDS)
