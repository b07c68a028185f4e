"""What plays came to, remembered from earlier runs by all that they rest on."""

from collections import defaultdict
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from haulshed.case import Memory, Words
from haulshed.clock.basis import HASH_WORDS, LOOKS, Basis
from haulshed.clock.given import Scenes

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: What the incidents come to, (P, ·), and how far their tankers looked, (P, 4).
Played = tuple[Floats, Floats]

# Words of a row: hash of the incident, hash of its sites, how far was looked; then the outcome.
_INCIDENT = slice(0, HASH_WORDS)
_SITES = slice(HASH_WORDS, 2 * HASH_WORDS)
_OUTCOME = 2 * HASH_WORDS + LOOKS
_LOOKED = slice(2 * HASH_WORDS, _OUTCOME)


class Remembered:
    """The outcomes of plays of one kind: of earlier runs, and of this one."""

    def __init__(self, memory: Memory, kind: str, basis: Basis, *, figures: int) -> None:
        self._memory, self._kind, self._basis = memory, kind, basis
        self._rows = memory.recall(kind, _OUTCOME + figures)
        self._by_incident: defaultdict[bytes, list[int]] = defaultdict(list)
        for row, incident in enumerate(map(bytes, np.ascontiguousarray(self._rows[:, _INCIDENT]))):
            self._by_incident[incident].append(row)
        self.taken = 0  #: incidents that did not have to be played

    def of(self, scenes: Scenes, play: Callable[[Scenes], Played]) -> Floats:
        """Return what each incident comes to, (P, ·), and play those that are not remembered."""
        incidents = self._basis.incidents(scenes)
        found = self._found(scenes, incidents)
        known, new = np.flatnonzero(found >= 0), np.flatnonzero(found < 0)
        rows = np.empty((len(found), self._rows.shape[1]), np.uint64)
        rows[known] = self._rows[found[known]]
        if new.size:
            unknown = scenes.at(new) if known.size else scenes  # large, so no copy without a cause
            rows[new] = self._played(unknown, incidents[new], play)
        self._memory.keep(self._kind, rows, made=new.size)
        self.taken += known.size
        return rows[:, _OUTCOME:].view(np.float64)

    def _found(self, scenes: Scenes, incidents: Words) -> Ints:
        """Return the row in which each incident is remembered; -1: none."""
        found = np.full(len(incidents), -1)
        if not self._by_incident:
            return found
        rows = [self._by_incident.get(bytes(one), []) for one in incidents]
        counts = np.array(list(map(len, rows)), np.int64)
        for turn in range(counts.max(initial=0)):
            asked = np.flatnonzero((found < 0) & (counts > turn))
            tried = np.array([rows[at][turn] for at in asked], np.int64)
            looked_min = np.ascontiguousarray(self._rows[tried, _LOOKED]).view(np.float64)
            sites = self._basis.sites(scenes.at(asked), looked_min)
            same = (sites == self._rows[tried, _SITES]).all(axis=1)
            found[asked[same]] = tried[same]
        return found

    def _played(self, scenes: Scenes, incidents: Words, play: Callable[[Scenes], Played]) -> Words:
        """Return the incidents as rows, played."""
        outcome, looked_min = play(scenes)
        sites = self._basis.sites(scenes, looked_min)
        figures = np.column_stack((looked_min, outcome)).view(np.uint64)
        return np.column_stack((incidents, sites, figures))
